"""Kernel messages -> typed events: what failed, at which layer, at which device.

``events`` reads lines only; ``attach`` says which component of an inventory each
event bears on. The rules are tables, one file a subsystem; ``context`` judges lines by
those around them. Lines of these subsystems that no rule knows are kept as ``other`` and
counted.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from livecheck.host import KernelMessage
from livecheck.kernel_log import (
    acpi,
    ata,
    block,
    bluetooth,
    board,
    context,
    crashes,
    errnos,
    graphics,
    helpers,
    inputs,
    machine_check,
    mmc,
    nvme,
    pcie,
    scsi,
    soc,
    thermal,
    usb,
    usb_host,
    wireless,
)
from livecheck.kernel_log.attach import attach
from livecheck.kernel_log.holders import Holders
from livecheck.kernel_log.rules import Family, Judged, apply, named
from livecheck.kernel_log.unread import complains, own_affair, unread
from livecheck.kernel_log.words import COMPLAINT, OTHER, UNKNOWN
from livecheck.records import KernelEvent

__all__ = ["UNKNOWN", "attach", "events", "unknown"]

FAMILIES: Final[tuple[Family, ...]] = (
    board.MODULE,
    ata.FAMILY,
    ata.LOOSE_RESULT,
    *usb.FAMILIES,
    pcie.ANY,
    helpers.THERMOMETER,
    board.ASLEEP,
    ata.HOST,
    *nvme.FAMILIES,
    block.FAMILY,
    *scsi.FAMILIES,
    *mmc.FAMILIES,
    *thermal.FAMILIES,
    *machine_check.FAMILIES,
    *acpi.FAMILIES,
    usb_host.FAMILY,
    *wireless.FAMILIES,
    bluetooth.FAMILY,
    *graphics.FAMILIES,
    *inputs.FAMILIES,
    *soc.FAMILIES,
    *helpers.FAMILIES,
    *board.FAMILIES,
    pcie.PORTS,
    crashes.FAMILY,
    board.AT_LARGE,
    board.ON_SMALL_BUSES,
)
"""In the order they are tried: a bus error is one, whichever driver's name stands before it."""

_ANY: Final = re.compile(
    "|".join(re.sub(r"\(\?P<\w+>", "(?:", family.prefix.pattern) for family in FAMILIES)
)
"""Most lines of a log are no family's; one look tells."""

_OTHERS: Final = re.compile(
    r"IN=\S* OUT=\S* (?:MAC=\S* )?SRC=|: loading out-of-tree module taints|"
    r": module verification failed: "
)
"""Lines before which any words may stand: a firewall's prefix, what a module calls itself
(net/netfilter/nf_log_syslog.c; kernel/module/main.c, from memory)."""

_PROBED: Final = re.compile(r"^([\w-]+): (?=probe of (\S+) )")
"""Older kernels name a device that did not start behind its driver's name, not beside it
(drivers/base/dd.c, from memory)."""

LONGEST: Final = 2000
"""Characters of a line that are looked at; the kernel's own limit is about 1000."""

WARNING: Final = 4


def events(messages: Sequence[KernelMessage]) -> tuple[KernelEvent, ...]:
    """The messages that bear on a component, in the order given. Never raises."""
    holders, found = Holders(messages), list[KernelEvent]()
    for message in messages:
        holders.learn(message)
        found += map(holders.named, _events(message))
    return context.judge(found)


def unknown(found: Sequence[KernelEvent]) -> tuple[KernelEvent, ...]:
    """The events that no rule knows."""
    return tuple(event for event in found if event.says in (UNKNOWN, COMPLAINT))


def _events(message: KernelMessage) -> Iterator[KernelEvent]:
    """Of a message of several lines only the family of the first may read the others.

    /dev/kmsg writes a line break in a message as ``\\x0a``, one in a device's string too.
    """
    raw, *others = message.text[:LONGEST].replace("\\x0a", "\n").splitlines() or [""]
    first = _PROBED.sub(r"\1 \2: ", raw) if ": probe of " in raw else raw
    for event in _said(message, first, others):
        yield event if event.raw != first else msgspec.structs.replace(event, raw=raw)


def _said(message: KernelMessage, first: str, others: Sequence[str]) -> Iterator[KernelEvent]:
    if _ANY.match(first) is None or _OTHERS.search(first) is not None:
        return
    complaint: KernelEvent | None = None
    for family in FAMILIES:
        prefix = family.prefix.match(first)
        if prefix is None or not prefix[0].isascii():
            continue  # the kernel's own words are ASCII; digits of other scripts are a device's
        event = _by_rules(message, first, family, prefix)
        if event is not None:
            yield event
        elif not family.claims:
            complaint = complaint or _complaint(message, first, family, prefix)
            continue
        elif message.priority <= WARNING:
            yield _unread(message, first, family, prefix)
        for line in others:
            yield from _further(message, line, family, named(prefix))
        return
    if complaint is not None:
        yield complaint


def _unread(
    message: KernelMessage, line: str, family: Family, prefix: re.Match[str]
) -> KernelEvent:
    device = named(prefix) or _kernels_word(message.device) or named(prefix, "driver")
    meant = unread(line[prefix.end() :], message.priority, family)
    return _made(message, line, family.subsystem, device, meant)


def _complaint(
    message: KernelMessage, line: str, family: Family, prefix: re.Match[str]
) -> KernelEvent | None:
    """What a family that claims nothing is left with where no other knows the line either."""
    if family.complains == OTHER or message.priority > WARNING:
        return None
    told = complains(line[prefix.end() :])
    return _unread(message, line, family, prefix) if told else None


def _by_rules(
    message: KernelMessage, line: str, family: Family, prefix: re.Match[str]
) -> KernelEvent | None:
    text = errnos.numbered(line)
    for known in family.rules:
        match = known.pattern.match(text, prefix.end())
        if match is not None:
            device = named(match) or named(prefix) or _kernels_word(message.device)
            device = usb.port_of(device, named(match, "port")) or named(prefix, "driver")
            meant = apply(known, match)
            if meant[2] and family.complains != OTHER:
                meant = own_affair(text[prefix.end() :]) or meant
            return _made(message, line, family.subsystem, device, meant)
    return None


def _further(
    message: KernelMessage, line: str, family: Family, device: str | None
) -> Iterator[KernelEvent]:
    for known in family.more:
        match = known.pattern.match(line)
        if match is not None:
            yield _made(message, line, family.subsystem, device, apply(known, match))
            return


def _made(
    message: KernelMessage, line: str, subsystem: str, device: str | None, meant: Judged
) -> KernelEvent:
    layer, says, serious = meant
    return KernelEvent(
        seconds=message.seconds,
        layer=layer,
        device=device,
        says=says,
        raw=line,
        subsystem=subsystem,
        serious=serious,
    )


def _kernels_word(device: str | None) -> str | None:
    """``+pci:0000:00:1f.2`` -> ``0000:00:1f.2``; node numbers (``b8:0``) are kept as they are."""
    if device is None:
        return None
    return device.partition(":")[2] if device.startswith("+") else device
