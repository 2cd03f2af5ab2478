"""USB hubs, ports and what is plugged in: what is the machine's and what is not.

Attributes: Documentation/ABI/testing/sysfs-bus-usb and sysfs-devices-removable.
"""

from __future__ import annotations

from dataclasses import replace

from livecheck.inventory import take
from livecheck.records import Inventory
from tests.testbeds import devices
from tests.testbeds.bed import Bed, BedHost, Node

ROOT = f"{devices.ROOT}/0000:00:14.0"
STORAGE = "08"


def _root_hub(bus: int, ports: dict[int, str]) -> list[Node]:
    return list(devices.hub_root(bus, ports))


def _device(path: str, base: str, removable: str, serial: str = "") -> list[Node]:
    """A device of one class at a path below the controller; a hub when the class is 09."""
    name = path.rpartition("/")[2]
    files = {"idVendor": "1234", "idProduct": "0001", "bDeviceClass": "00", "removable": removable}
    if base == "09":
        files["bDeviceClass"] = base
    if serial:
        files["serial"] = serial
    return [
        Node("usb", f"{ROOT}/{path}", files, {"DEVTYPE": "usb_device"}),
        Node("usb", f"{ROOT}/{path}/{name}:1.0", {"bInterfaceClass": base},
             {"DEVTYPE": "usb_interface"}),
    ]  # fmt: skip


class Paired(BedHost):
    """A bed whose ports 1 of bus 1 and bus 2 are halves of one socket."""

    def target(self, path: str) -> str | None:
        halves = {
            f"{ROOT}/usb1/1-0:1.0/usb1-port1/peer": f"{ROOT}/usb2/2-0:1.0/usb2-port1",
            f"{ROOT}/usb2/2-0:1.0/usb2-port1/peer": f"{ROOT}/usb1/1-0:1.0/usb1-port1",
        }
        return halves.get(path) or super().target(path)


def _take(*nodes: Node, paired: bool = False) -> Inventory:
    bed = Bed(nodes=(*devices.board(), *nodes))
    return take(Paired(bed) if paired else BedHost(bed))


def test_hub_of_the_board_is_a_controller() -> None:
    """A hub that is fixed inside; a device behind it hangs on it."""
    found = _take(
        *_root_hub(1, {1: "hardwired"}),
        *_device("usb1/1-1", "09", "fixed"),
        *_device("usb1/1-1/1-1.4", "0e", "fixed"),
    )
    (hub,) = [c for c in found.controllers if c.kind == "usb-hub"]
    assert (hub.id, hub.parent) == ("usbhub:1-1", "pci:0000:00:14.0")
    (place,) = [p for p in found.places if p.id == "usb:1-1.4"]
    assert (place.controller, place.external) == ("usbhub:1-1", False)
    assert "usb:1-1" not in {p.id for p in found.places}
    assert [p.place for p in found.parts if p.kind == "camera"] == ["usb:1-1.4"]


def test_hub_plugged_in_is_not_the_machines() -> None:
    """A hub in an outside socket is something plugged in, and so is all behind it."""
    found = _take(
        *_root_hub(1, {2: "hotplug"}),
        *_device("usb1/1-2", "09", "removable"),
        *_device("usb1/1-2/1-2.3", STORAGE, "removable", serial="STICK0815"),
    )
    assert not [c for c in found.controllers if c.kind == "usb-hub"]
    external = {p.id: p.external for p in found.places}
    assert external == {"usb:1-2": True, "usb:1-2.3": True, **_others(found)}
    (stick,) = [p for p in found.parts if p.kind == "drive"]
    assert stick.identity == "serial:STICK0815"


def _others(found: Inventory) -> dict[str, bool]:
    return {p.id: p.external for p in found.places if not p.id.startswith("usb:")}


def test_two_halves_are_one_socket() -> None:
    """A fast device in the fast half sits in the place named for the slow half."""
    found = _take(
        *_root_hub(1, {1: "hotplug"}),
        *_root_hub(2, {1: "hotplug"}),
        *_device("usb2/2-1", STORAGE, "removable", serial="FAST0815"),
        paired=True,
    )
    assert [p.id for p in found.places if p.id.startswith("usb:")] == ["usb:1-1"]
    assert [p.place for p in found.parts if p.kind == "drive"] == ["usb:1-1"]


def test_dummy_serials_identify_nothing() -> None:
    """A serial number that every device of its kind has is none (common practice, no source)."""
    found = _take(
        *_root_hub(1, {1: "hotplug"}), *_device("usb1/1-1", STORAGE, "removable", "0000000000")
    )
    assert [p.id for p in found.parts if p.kind == "drive"] == ["drive@usb:1-1"]


def test_a_device_that_no_database_knows_is_called_as_it_calls_itself() -> None:
    """A hand finds “Portable box” on its case, and no id."""
    names = []
    for product in ("Portable box", " ", None):
        box = _device("usb1/1-1", STORAGE, "removable", serial="BX-1")
        if product is not None:
            box[0] = replace(box[0], files={**box[0].files, "product": product})
        (part,) = [p for p in _take(*_root_hub(1, {1: "hotplug"}), *box).parts if p.usb == "1-1"]
        names.append(part.name)
    assert names == ["Portable box", "drive", "drive"]
