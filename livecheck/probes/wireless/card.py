"""One wireless card as far as its half on PCI Express and its half on USB came.

The kernel's way with a card has stations, and each says something else: the function
enumerates, a driver takes it, the firmware file is found and started, a radio registers,
an interface or a Bluetooth adapter appears. ``gather`` collects how far it came.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Final

import msgspec

from livecheck.kernel_log.wireless import OPTIONAL
from livecheck.radio.state import Interface, Radio
from livecheck.records import Device, Inventory, KernelEvent, Part, UsbFacts

CARD: Final = "wireless-card"
"""Kind of part."""

ENOENT: Final = 2
FILE: Final = (
    # drivers/base/firmware_loader/main.c; the second is Debian's own wording.
    re.compile(r"Direct firmware load for (?P<file>\S+) failed with error -(?P<errno>\d+)"),
    re.compile(r"firmware: failed to load (?P<file>\S+) \(-(?P<errno>\d+)\)"),
    re.compile(r"minimum version required: (?P<file>\S+)"),
)
BLUETOOTH_FILE: Final = re.compile(r"/ibt-|/ibt\d|\bqca/|BT_RAM|_bt\b|BCM\S*\.hcd|rtl_bt/|AR3012")
"""Firmware of the Bluetooth half, by the names the drivers ask for (drivers/bluetooth)."""


class FirmwareFailure(msgspec.Struct, frozen=True, kw_only=True):
    """A firmware file that was asked for and could not be had."""

    file: str
    errno: int
    bluetooth: bool

    @property
    def missing(self) -> bool:
        """True: it is not on this stick; False: it is, and could not be read or used."""
        return self.errno == ENOENT


class Half(msgspec.Struct, frozen=True, kw_only=True):
    """One of a card's two radios."""

    function: Device | None
    """The PCI function or USB device; None: nothing of it enumerates."""
    driver: str | None
    runs: tuple[str, ...]
    """Network interfaces, or Bluetooth adapters."""
    firmware_failures: tuple[FirmwareFailure, ...]
    crashes: tuple[KernelEvent, ...]
    """Serious events of the kernel's log."""


class Card(msgspec.Struct, frozen=True, kw_only=True):
    """A card with both its halves."""

    part: Part
    wireless: Half
    bluetooth: Half
    radios: tuple[Radio, ...] = ()
    interfaces: tuple[Interface, ...] = ()


def gather(
    part: Part,
    inventory: Inventory,
    events: Sequence[KernelEvent],
    radios: Sequence[Radio] = (),
    interfaces: Sequence[Interface] = (),
) -> Card:
    """How far each half of a card came."""
    own = [d for d in inventory.devices if d.component == part.id]
    said = [e for e in events if e.component == part.id and e.subsystem == "wireless"]
    phys = {d.name for d in own if d.subsystem == "ieee80211"}
    names = {d.name for d in own if d.subsystem == "net"}
    mine = tuple(r for r in radios if r.name in phys)
    numbers = {r.index for r in mine}
    return Card(
        part=part,
        wireless=_half(own, said, False, names),
        bluetooth=_half(own, said, True, {d.name for d in own if d.subsystem == "bluetooth"}),
        radios=mine,
        interfaces=tuple(i for i in interfaces if i.radio in numbers or i.name in names),
    )


def _half(own: list[Device], said: list[KernelEvent], bluetooth: bool, runs: set[str]) -> Half:
    functions = [
        d for d in own
        if d.subsystem in ("pci", "usb", "mmc", "sdio") and _is_bluetooth(d) is bluetooth
    ]  # fmt: skip
    mine = [e for e in said if _about_bluetooth(e) is bluetooth]
    function = functions[0] if functions else None
    return Half(
        function=function,
        driver=_driver(functions, own, bluetooth),
        runs=tuple(sorted(runs)),
        firmware_failures=tuple(
            failure for e in mine if e.says != OPTIONAL for failure in _firmware_failures(e)
        ),
        crashes=tuple(e for e in mine if e.serious),
    )


def _driver(functions: Iterable[Device], own: list[Device], bluetooth: bool) -> str | None:
    """The driver's name; ``usb`` only means that the device as such is known."""
    named = [d.driver for d in functions if d.driver and d.driver != "usb"]
    named += [
        d.driver
        for d in own
        if d.subsystem == "usb_interface" and d.driver and (d.driver == "btusb") is bluetooth
    ]
    return named[0] if named else None


def _is_bluetooth(device: Device) -> bool:
    return isinstance(device.facts, UsbFacts) and device.facts.bluetooth


def _about_bluetooth(event: KernelEvent) -> bool:
    named = event.raw.startswith("Bluetooth:") or (event.device or "").startswith("hci")
    return named or BLUETOOTH_FILE.search(event.raw) is not None


def _firmware_failures(event: KernelEvent) -> Iterable[FirmwareFailure]:
    for pattern in FILE:
        match = pattern.search(event.raw)
        if match is not None:
            groups = match.groupdict()
            yield FirmwareFailure(
                file=groups["file"],
                errno=int(groups.get("errno") or ENOENT),
                bluetooth=BLUETOOTH_FILE.search(event.raw) is not None,
            )
            return
