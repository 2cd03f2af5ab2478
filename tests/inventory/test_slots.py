"""What the slot table says of what sits in a slot; the table's bytes are laid out by the tests.

How such a table is read is checked against dmidecode in ``test_smbios.py``.
"""

from __future__ import annotations

import pytest

from livecheck.inventory import pci, slots, smbios
from livecheck.inventory.smbios_types import CardSlot, Tables
from livecheck.inventory.tree import Contribution
from livecheck.records import Presence
from tests.inventory import smbios_builder as build
from tests.inventory.fake_host import FakeHost, attributes, device, seen

ROOT = "/sys/devices/pci0000:00"
PORT = "0000:00:1c.1"
WIRED_CLASS, WIRELESS_CLASS, BRIDGE_CLASS = "0x020000", "0x028000", "0x060400"


def laptop(*told: bytes, card_class: str = WIRED_CLASS, registers: bytes = b"") -> FakeHost:
    """A network function behind a port, one on the root bus, and the firmware's table."""
    places = {PORT: ROOT, "0000:03:00.0": f"{ROOT}/{PORT}", "0000:00:1f.6": ROOT}
    classes = {PORT: BRIDGE_CLASS, "0000:03:00.0": card_class, "0000:00:1f.6": WIRED_CLASS}
    files: dict[str, bytes | str | int] = {}
    for name, above in places.items():
        more = {"class": classes[name], "vendor": "0x1ff7", "device": "0x0001"}
        files |= attributes(f"{above}/{name}", **more)
    if registers:
        files[f"{ROOT}/{PORT}/0000:03:00.0/config"] = registers
    if told:
        table = b"".join((*told, build.end()))
        files |= {smbios.TABLE: table, smbios.ENTRY_POINT: build.entry_point_64(table)}
    return FakeHost(files, [device("pci", name, f"{above}/{name}") for name, above in
                            places.items()])  # fmt: skip


def kinds(host: FakeHost) -> dict[str, str]:
    """Place -> kind of the part in it."""
    return {part.place: part.kind for part in pci.find(host, seen(host)).parts}


def test_a_card_that_calls_itself_wired_in_a_slot_for_wireless_cards() -> None:
    """Early wireless cards report the class of Ethernet (common practice, no source)."""
    in_slot = {f"slot:{PORT}": "wireless-card"}
    by_function = build.slot("M.2 WLAN", 4, 3, 0)
    by_port = build.slot("J4", 4, 0, 0x1C << 3 | 1)
    assert kinds(laptop(by_function)) == in_slot
    assert kinds(laptop(by_port)) == in_slot, "by the key of the socket alone"


def test_a_chip_of_the_board_is_no_wireless_card() -> None:
    """Without a table, and with one that means other slots, the function is a controller."""
    assert kinds(laptop()) == {}
    elsewhere = build.slot("M.2 WLAN", 3, 4, 0)
    assert kinds(laptop(elsewhere)) == {}
    for_drives = build.slot("M.2 SSD", 4, 3, 0)
    assert kinds(laptop(for_drives)) == {}
    host = laptop(elsewhere)
    found = pci.find(host, seen(host))
    assert "network-controller" in {controller.kind for controller in found.controllers}


def test_a_card_gone_from_the_bus_leaves_its_slot_without_an_answer() -> None:
    """Registers that read all ones: PCI Local Bus 3.0, 6.1 (an access nobody claims)."""
    host = laptop(build.slot("M.2 WLAN", 4, 3, 0), registers=b"\xff" * 256)
    found = pci.find(host, seen(host))
    (part,) = found.parts
    (place,) = [one for one in found.places if one.id == part.place]
    assert part.answers is False
    assert place.presence is Presence.NOTHING_ANSWERS


def test_named_slots_keep_what_the_bus_knows() -> None:
    host = laptop(build.slot("M.2 WLAN", 4, 3, 0), card_class=WIRELESS_CLASS)
    known = seen(host)
    known.add(pci.find(host, known))
    found = smbios.find(host, known)
    (named,) = [place for place in found.places if place.id == f"slot:{PORT}"]
    assert named.printed_name == "M.2 WLAN"
    assert named.expects == "wireless-card"
    assert isinstance(found, Contribution) and named.kind == "pcie-slot"


@pytest.mark.parametrize(
    ("kind", "name", "meant"),
    [
        (0x14, "J1", "wireless-card"),
        (0x15, "J1", "wireless-card"),
        (0x17, "J1", "drive"),
        (0x16, "J1", None),
        (0xA5, "WLAN", "wireless-card"),
        (0x17, "Wi-Fi", "wireless-card"),
        (0xA5, "NVMe 1", "drive"),
        (None, None, None),
    ],
)
def test_what_a_slot_is_made_for(kind: int | None, name: str | None, meant: str | None) -> None:
    """Connectors of DSP0134 7.10.1; what is printed beside the slot goes before them."""
    assert slots.made_for(CardSlot(handle=1, kind=kind, name=name)) == meant


def test_addresses_of_slots() -> None:
    whole = CardSlot(handle=1, segment=0, bus=2, devfn=0x1C << 3 | 1)
    assert slots.address(whole) == "0000:02:1c.1"
    assert slots.address(CardSlot(handle=1, segment=0, bus=2)) is None
    assert slots.radio_slots(None) == frozenset()
    assert slots.radio_slots(Tables(slots=(whole,))) == frozenset()
