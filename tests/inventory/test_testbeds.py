"""The inventory on three invented laptops, live under umockdev and replayed; and on this machine.

umockdev lays the laptops out as a sysfs tree that the real udev library and the real
LiveHost read; a listing of that tree, and of this machine's, is the reference for what
must be in the inventory.
"""

from __future__ import annotations

import gzip
import json
import subprocess
import sys
from pathlib import Path
from typing import Any, Final

import msgspec
import pytest

from livecheck.capture import CapturedHost, RecordingHost, parse
from livecheck.inventory import take
from livecheck.live_host import LiveHost
from livecheck.probes import registry
from livecheck.records import Inventory, Presence, decode, encode
from tests.testbeds import laptops
from tests.testbeds.bed import Bed, BedHost
from tests.testbeds.run import run

TAKE: Final = (
    "from livecheck.live_host import LiveHost\n"
    "from livecheck.inventory import take\n"
    "from livecheck.records import encode\n"
    "print(encode(take(LiveHost())).decode())"
)
BEDS: Final = sorted(laptops.ALL)


def _bed(name: str) -> Bed:
    return laptops.ALL[name]()


def _python(bed: Bed, work: Path, *words: str) -> str:
    done = run(bed, [sys.executable, *words], work)
    assert done.returncode == 0, done.stderr
    return done.stdout


def _without_names(inventory: Inventory) -> dict[str, Any]:
    """An inventory without what comes from this machine's ID databases."""
    words = json.loads(encode(inventory))
    del words["checksum"]
    for kind in ("controllers", "parts", "devices"):
        for record in words[kind]:
            for field in ("name", "vendor", "model", "description"):
                if kind != "devices" or field == "description":
                    record.pop(field, None)
            for field in ("vendor", "model"):
                record["attributes"].pop(field, None)
    return dict(words)


@pytest.mark.parametrize("name", BEDS)
def test_live_and_described_agree(name: str, tmp_path: Path) -> None:
    """The bed read by udev and LiveHost, and the same bed answered from its description."""
    live = decode(_python(_bed(name), tmp_path, "-c", TAKE).encode(), Inventory)
    assert _without_names(live) == _without_names(take(BedHost(_bed(name))))
    assert live.gaps == ()


def _comparable(printed: str) -> tuple[Any, list[Any], list[Any], list[Any]]:
    """Inventory, readings, events and what was not tested, of ``run --json``.

    Passive readings only: a reading's own time is no part of it.
    """
    found = json.loads(printed)["run"]
    key = json.dumps
    return (
        found["inventory"],
        sorted(found["readings"], key=key),
        sorted(found["events"], key=key),
        # A replay keeps no record of every second, and umockdev's does not end in order.
        sorted((n for n in found["not_tested"] if n["what"] != RECORD), key=key),
    )


RECORD = "Record of every second"


@pytest.mark.slow
@pytest.mark.parametrize("name", BEDS)
def test_a_capture_replays_as_live(name: str, tmp_path: Path) -> None:
    """``capture f`` then ``run --from f``: the same inventory and passive readings."""
    shop = tmp_path / "shop"
    shop.mkdir()
    passive = ",".join(p.name for p in registry.ALL if p.passive)
    words = ["-m", "livecheck", "run", "--json", "--probes", passive, "--shop", str(shop)]
    taken = tmp_path / "bed.capture"
    live = _python(_bed(name), tmp_path, *words)
    _python(_bed(name), tmp_path, "-m", "livecheck", "capture", str(taken))
    replayed = subprocess.run(
        [sys.executable, *words, "--from", str(taken)], capture_output=True, text=True, check=True
    )
    assert _comparable(replayed.stdout) == _comparable(live)
    assert len(_comparable(live)[1]) > 5


# --- What the three are


def test_every_part_of_the_ahci_laptop_is_in_its_place() -> None:
    """Drive, optical drive, battery, wireless card, each in its place; the third port is empty."""
    found = take(BedHost(_bed("ahci")))
    homes = {part.kind: part.place for part in found.parts}
    assert homes["drive"] == "ata:0000:00:17.0:1"
    assert homes["optical-drive"] == "ata:0000:00:17.0:2"
    assert homes["wireless-card"] == "slot:0000:00:1c.0"
    assert homes["battery"] == "bay:BAT0"
    presence = {place.id: place.presence for place in found.places}
    assert presence["ata:0000:00:17.0:3"] is Presence.EMPTY
    identities = {part.kind: part.identity for part in found.parts}
    assert identities["drive"] == f"serial:{laptops.DISK.serial}"
    assert identities["wireless-card"] == f"mac:{laptops.MAC}"


def test_bluetooth_is_on_the_wireless_card() -> None:
    """The USB half of a combined card belongs to the card in the slot."""
    found = take(BedHost(_bed("ahci")))
    (radio,) = [d for d in found.devices if d.name == "1-7"]
    assert radio.component == f"wireless-card:{laptops.MAC}"


def test_every_part_of_the_nvme_laptop_is_in_its_place() -> None:
    """The drive is in a slot behind its root port; the jack is USB-C."""
    found = take(BedHost(_bed("nvme")))
    (drive,) = [p for p in found.parts if p.kind == "drive"]
    assert drive.place == f"slot:{laptops.DRIVE_PORT}"
    assert drive.identity == f"serial:{laptops.NVME.serial}"
    names = {d.name for d in found.devices if d.component == drive.id}
    assert names == {"0000:02:00.0", "nvme0", "nvme0n1"}
    (place,) = [p for p in found.places if p.id == drive.place]
    assert place.attributes["link_speed_gts"] == 8.0
    assert place.attributes["link_width"] == 4
    assert any(p.id.startswith("jack:ucsi") for p in found.places)


def test_a_missing_card_leaves_its_slot_without_an_answer() -> None:
    """The slot senses a card, nothing answers, and the firmware's table says what belongs there."""
    found = take(BedHost(_bed("missing-card")))
    (place,) = [p for p in found.places if p.id == f"slot:{laptops.WLAN_PORT}"]
    assert place.presence is Presence.NOTHING_ANSWERS
    assert place.expects == "wireless-card"
    assert not [p for p in found.parts if p.kind == "wireless-card"]


@pytest.mark.parametrize("name", BEDS)
def test_tree_is_whole(name: str) -> None:
    """Every part is in a place, every place on a controller or the board, ids are unique."""
    found = take(BedHost(_bed(name)))
    controllers = {c.id for c in found.controllers}
    places = {p.id for p in found.places}
    components = {*controllers, *places, *(p.id for p in found.parts)}
    assert len(components) == len(found.controllers) + len(found.places) + len(found.parts)
    assert all(p.place in places for p in found.parts)
    assert all(p.controller is None or p.controller in controllers for p in found.places)
    assert all(c.parent is None or c.parent in controllers for c in found.controllers)
    assert all(d.component is None or d.component in components for d in found.devices)


@pytest.mark.parametrize("name", BEDS)
def test_nonsense_costs_no_inventory(name: str) -> None:
    """Any one attribute replaced by noise: the inventory is still taken."""
    bed = _bed(name)
    for node in bed.nodes:
        for attribute in node.files:
            host = BedHost(bed)
            host.garble(f"{node.path}/{attribute}")
            take(host)


# --- This machine


FOLDERS: Final = {
    "pci": "/sys/bus/pci/devices",
    "usb": "/sys/bus/usb/devices",
    "block": "/sys/class/block",
    "net": "/sys/class/net",
    "power_supply": "/sys/class/power_supply",
}


def _sysfs(subsystem: str) -> set[str]:
    """Names a listing of sysfs shows, without what is no device.

    ``1-4:1.0`` is an interface of USB device 1-4; a plain file among the network
    interfaces is a driver's switch.
    """
    folder = Path(FOLDERS[subsystem])
    names = {p.name for p in folder.iterdir() if p.is_dir()} if folder.is_dir() else set()
    return {n for n in names if not (subsystem == "usb" and ":" in n)}


@pytest.mark.parametrize("subsystem", ["pci", "usb", "block", "net", "power_supply"])
def test_every_device_of_this_machine_is_listed(subsystem: str) -> None:
    """The inventory's devices are those a plain listing of sysfs shows."""
    listed = {d.name for d in take(LiveHost()).devices if d.subsystem == subsystem}
    assert listed == _sysfs(subsystem)


def test_a_capture_of_this_machine_replays() -> None:
    """The inventory taken from its own recording is the same."""
    recording = RecordingHost(LiveHost())
    live = take(recording)
    assert take(_replay(recording)) == live


def _replay(recording: RecordingHost) -> CapturedHost:
    scopes = {
        name: {question: [msgspec.Raw(a) for a in answers] for question, answers in seen.items()}
        for name, seen in recording.scopes.items()
    }
    body = {"program": "test", "scopes": scopes, "schema": 1}
    return parse(gzip.compress(msgspec.json.encode(body)), "test")
