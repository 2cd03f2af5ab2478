"""Kernel messages -> typed events: what failed, at which layer, at which device.

``events`` reads lines only; ``attach`` says which component of an inventory each
event bears on. The rules are tables: ``ata``, ``disks``, ``buses``, ``machine``. Lines
of these subsystems that no rule knows are kept as ``other`` and counted.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.host import KernelMessage
from livecheck.kernel_log import ata, buses, disks, machine
from livecheck.kernel_log.attach import attach
from livecheck.kernel_log.rules import Family, apply
from livecheck.kernel_log.words import OTHER
from livecheck.records import KernelEvent

__all__ = ["UNKNOWN", "attach", "events", "unknown"]

FAMILIES: Final[tuple[Family, ...]] = (
    ata.FAMILY,
    buses.PCIE,
    *disks.FAMILIES,
    machine.THERMAL_FAMILY,
    machine.MACHINE,
    machine.FIRMWARE_FAMILY,
    buses.USB,
    buses.USB_HOST,
    buses.WIRELESS,
    machine.GRAPHICS_FAMILY,
)
"""In the order they are tried: a bus error or a firmware bug is one, whichever driver's name
stands before it."""

UNKNOWN: Final = "a message livecheck does not know"

LONGEST: Final = 2000
"""Characters of a line that are looked at; the kernel's own limit is about 1000."""

WARNING: Final = 4

_DEVICE_GROUPS: Final = ("dev", "block", "port", "hub", "hci", "ahci", "scsi")


def events(messages: Sequence[KernelMessage]) -> tuple[KernelEvent, ...]:
    """The messages that bear on a component, in the order given. Never raises."""
    found: list[KernelEvent] = []
    last_ata: str | None = None
    for message in messages:
        for line in _unescaped(message.text[:LONGEST]).splitlines():
            event = _event(msgspec.structs.replace(message, text=line))
            if event is None:
                continue
            if event.subsystem == "ata":
                # The result of a failed command is printed on a line of its own, unnamed.
                last_ata = event.device or last_ata
                event = msgspec.structs.replace(event, device=event.device or last_ata)
            found.append(event)
    return tuple(found)


def unknown(found: Sequence[KernelEvent]) -> tuple[KernelEvent, ...]:
    """The events that no rule knows."""
    return tuple(event for event in found if event.says == UNKNOWN)


def _unescaped(text: str) -> str:
    """/dev/kmsg writes control characters as ``\\x0a``; only line breaks are taken back."""
    return text.replace("\\x0a", "\n")


def _event(message: KernelMessage) -> KernelEvent | None:
    for family in FAMILIES:
        gate = family.gate.search(message.text)
        if gate is None:
            continue
        for known in family.rules:
            match = known.pattern.search(message.text)
            if match is not None:
                layer, says, serious = apply(known, match)
                device = _named(match) or _named(gate) or _kernels_word(message.device)
                return _made(message, family.subsystem, layer, device, says, serious)
        if message.priority <= WARNING:
            device = _named(gate) or _kernels_word(message.device)
            return _made(message, family.subsystem, OTHER, device, UNKNOWN, False)
        return None
    return None


def _made(
    message: KernelMessage, subsystem: str, layer: str, device: str | None, says: str, serious: bool
) -> KernelEvent:
    return KernelEvent(
        seconds=message.seconds,
        layer=layer,
        device=device,
        says=says,
        raw=message.text,
        subsystem=subsystem,
        serious=serious,
    )


def _named(match: re.Match[str]) -> str | None:
    groups = match.groupdict()
    return next((groups[name] for name in _DEVICE_GROUPS if groups.get(name)), None)


def _kernels_word(device: str | None) -> str | None:
    """``+pci:0000:00:1f.2`` -> ``0000:00:1f.2``; node numbers (``b8:0``) are kept as they are."""
    if device is None:
        return None
    return device.partition(":")[2] if device.startswith("+") else device
