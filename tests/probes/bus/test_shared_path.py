"""Parts behind one controller compared.

The kernel's lines are those of libata (Linux 6.12 ``libata-eh.c``) and the USB core
(``hub.c``); what they prove, by libata.rst: the drive, the controller or the way between.
"""

from __future__ import annotations

import pytest

from livecheck import kernel_log, knowledge
from livecheck.host import KernelMessage
from livecheck.probes import Context
from livecheck.probes.bus import shared_path
from livecheck.records import (
    Controller,
    Device,
    Inventory,
    Outcome,
    Part,
    Place,
    Presence,
    Reading,
)
from tests.inventory.fake_host import FakeHost

AHCI = Controller(id="pci:0000:00:17.0", kind="sata-controller", name="SATA controller")
XHCI = Controller(id="pci:0000:00:14.0", kind="usb-controller", name="USB controller")
HUB = Controller(id="usbhub:1-1", kind="usb-hub", name="hub", parent=XHCI.id)


def _place(place: str, controller: str, presence: Presence = Presence.SEEN) -> Place:
    return Place(id=place, kind="sata-port", name=place, controller=controller, presence=presence)


def _part(part: str, place: str) -> Part:
    return Part(id=part, kind="drive", name=part, place=place)


INVENTORY = Inventory(
    controllers=(AHCI, XHCI, HUB),
    places=(
        _place("ata:x:1", AHCI.id),
        _place("ata:x:2", AHCI.id),
        _place("ata:x:3", AHCI.id, Presence.EMPTY),
        _place("usb:1-1.1", HUB.id),
        _place("usb:1-2", XHCI.id),
    ),
    parts=(
        _part("drive:A", "ata:x:1"),
        _part("drive:B", "ata:x:2"),
        _part("usb-device:C", "usb:1-1.1"),
        _part("usb-device:D", "usb:1-2"),
    ),
    devices=(
        Device(subsystem="ata_port", name="ata1", path="/sys/1", component="ata:x:1"),
        Device(subsystem="ata_port", name="ata2", path="/sys/2", component="ata:x:2"),
        Device(subsystem="usb", name="1-1.1", path="/sys/3", component="usb-device:C"),
        Device(subsystem="usb", name="1-2", path="/sys/4", component="usb-device:D"),
    ),
)
CRC = "ata{}: SError: {{ BadCRC }}"
MEDIUM = "ata{}: error: {{ UNC }}"


def _found(
    *lines: str, inventory: Inventory = INVENTORY, apart: float = 100.0
) -> dict[str, Reading]:
    messages = [KernelMessage(apart * n, 3, line) for n, line in enumerate(lines)]
    events = kernel_log.attach(kernel_log.events(messages), inventory)
    context = Context(
        host=FakeHost(), inventory=inventory, events=events, knowledge=knowledge.load()
    )
    return {one.at: one for one in shared_path.probe(context) if isinstance(one, Reading)}


@pytest.mark.parametrize(
    ("lines", "outcome"),
    [
        ([CRC.format(1), CRC.format(2)], Outcome.FAILED),
        ([CRC.format(1)], Outcome.PASSED),
        # Bad sectors in two drives are two bad drives.
        ([MEDIUM.format(1), MEDIUM.format(2)], None),
        ([], None),
    ],
)
def test_trouble_in_two_drives_points_at_their_controller(
    lines: list[str], outcome: Outcome | None
) -> None:
    """All in trouble on the way: the controller; one of two: not the controller as a whole."""
    found = _found(*lines)
    assert (found[AHCI.id].outcome if AHCI.id in found else None) is outcome
    assert XHCI.id not in found


def test_parts_behind_hubs_count_for_the_controller_above() -> None:
    """One device on a hub and one beside it, both lost: what they share is the controller."""
    lines = [f"usb {port}: device descriptor read/64, error -71" for port in ("1-1.1", "1-2")]
    found = _found(*lines)
    assert found[XHCI.id].outcome is Outcome.FAILED
    assert found[XHCI.id].value == "2 of 2"
    assert HUB.id not in found


def test_a_port_that_senses_in_vain_counts() -> None:
    """SStatus says a drive is there and nothing answers: trouble on the way, with a second."""
    places = (*INVENTORY.places[:1], _place("ata:x:2", AHCI.id, Presence.NOTHING_ANSWERS))
    inventory = Inventory(
        controllers=(AHCI,), places=places, parts=INVENTORY.parts[:1], devices=INVENTORY.devices
    )
    assert _found(CRC.format(1), inventory=inventory)[AHCI.id].outcome is Outcome.FAILED
    assert _found(inventory=inventory)[AHCI.id].outcome is Outcome.PASSED


def test_one_moment_names_no_board() -> None:
    """Both drives lose their link in one second: the supply they share, until it comes again."""
    once = _found(CRC.format(1), CRC.format(2), apart=0.5)[AHCI.id]
    assert once.outcome is Outcome.NOT_JUDGED
    assert "supply" in (once.why_not or "")
    again = _found(*(CRC.format(n) for n in (1, 2, 1, 2)), apart=50.0)[AHCI.id]
    assert again.outcome is Outcome.FAILED
