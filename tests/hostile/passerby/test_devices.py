"""Hardware that lies, or that says of itself that it is broken.

Sources: Linux Documentation/hwmon/sysfs-interface.rst (``_fault``, ``_enable``),
driver-api/thermal/sysfs-api.rst (``mode``), ABI/testing/sysfs-class-power; net/core/dev.c,
dev_valid_name() (from memory); SMBIOS 3.7, 5.2 and 6.1; E-EDID release A2, 3.1.
"""

from __future__ import annotations

import json
import time
from dataclasses import dataclass, replace
from typing import Any, Final

import msgspec
import pytest

from livecheck.host import UdevDevice
from livecheck.inventory import edid, smbios
from livecheck.inventory.tree import Seen
from livecheck.records import Complaint, Run, encode
from livecheck.wording import clean
from tests.hostile.outsider.support import (
    Broken,
    accused,
    defects,
    located,
    looked,
    of,
    outcomes,
    run_of,
    with_files,
    with_nodes,
)
from tests.inventory import edid_builder
from tests.inventory import smbios_builder as builder
from tests.testbeds import laptops
from tests.testbeds.bed import Bed, BedHost, Node
from tests.testbeds.smartctl import Drive

STEERING: Final = set(map(chr, (*range(32), *range(0x7F, 0xA0), 0x202E, 0x2066)))
SECONDS: Final = 5.0
TABLE: Final = "/sys/firmware/dmi/tables/DMI"


def _of(run: Run, complaint: Complaint) -> Run:
    return msgspec.structs.replace(run, complaint=complaint)


class Listed(BedHost):
    """A laptop that lists a large folder once, as the kernel's own listing is quick."""

    def __init__(self, bed: Bed) -> None:
        super().__init__(bed)
        self.listed: dict[str, tuple[str, ...]] = {}

    def names(self, path: str) -> tuple[str, ...]:
        if path not in self.listed:
            self.listed[path] = super().names(path)
        return self.listed[path]


def test_a_chip_of_twenty_thousand_channels() -> None:
    """H01: the ABI numbers channels without end."""
    files = {f"temp{n}_input": "45000" for n in range(1, 10_001)}
    files |= {f"fan{n}_input": "2100" for n in range(1, 10_001)}
    chip = Node("hwmon", "/sys/devices/platform/many/hwmon/hwmon9", {"name": "many", **files})
    host = Listed(with_nodes(laptops.ahci(), chip))
    begun = time.process_time()
    run = looked(host)
    took = time.process_time() - begun
    assert defects(run) == []
    assert not accused(located(run))
    assert took < SECONDS


class Ringed(BedHost):
    """A laptop whose devices have other parents than their folders say."""

    def __init__(self, bed: Bed, parent: str) -> None:
        super().__init__(bed)
        self.parent = parent
        self.paths = [node.path for node in bed.nodes]

    def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
        told = []
        for one in super().udev(subsystem):
            at = self.paths.index(one.path)
            ways = {"own": one.path, "next": self.paths[at - 1], "none": "/sys/devices/nowhere",
                    "root": "/", "empty": "", "below": f"{one.path}/x"}  # fmt: skip
            told.append(msgspec.structs.replace(one, parent=ways[self.parent]))
        return tuple(told)


@pytest.mark.parametrize("parent", ["own", "next", "none", "root", "empty", "below"])
@pytest.mark.parametrize("name", laptops.ALL)
def test_parents_in_a_ring(name: str, parent: str) -> None:
    """H02: whoever follows them comes to an end."""
    begun = time.process_time()
    run = looked(Ringed(laptops.ALL[name](), parent))
    assert defects(run) == []
    assert time.process_time() - begun < SECONDS
    usual = {"wireless-card@slot:0000:00:1c.0"} if name == "missing-card" else set()
    assert set(accused(located(run))) <= usual


NAMES: Final = ("wl\x1b[2J", "wl\nan", "wl\udcff\udcfe", "wl\u202ean", "w" * 255, "\x9b31m",
                "%s{0}", "wl\x00an")  # fmt: skip


@pytest.mark.parametrize("odd", NAMES, ids=lambda n: repr(n)[:12])
def test_names_of_devices(odd: str) -> None:
    """H03: a name is a stranger's word, in the folder's name too."""
    bed = laptops.ahci()
    kinds = ("net", "power_supply", "hwmon", "rfkill", "thermal")
    raw = odd.encode("utf-8", "surrogateescape") + b"\n"
    nodes = tuple(
        replace(n, path=f"{n.path.rpartition('/')[0]}/{odd}{number}",
                properties={**n.properties, "INTERFACE": odd} if n.subsystem == "net" else
                n.properties, files={**n.files, "name": raw, "model_name": raw})
        if n.subsystem in kinds else n
        for number, n in enumerate(bed.nodes)
    )  # fmt: skip
    run = looked(BedHost(replace(bed, nodes=nodes)))
    assert defects(run) == []
    json.loads(encode(run))
    json.loads(encode(run).decode("utf-8", "strict"))
    inventory = run.inventory
    named = [f"{one.id} {one.name}" for one in inventory.parts]
    named += [f"{one.id} {one.name}" for one in inventory.places]
    named += [f"{one.id} {one.name}" for one in inventory.controllers]
    assert not set(clean("".join(named))) & STEERING
    assert not accused(located(run))


BROKEN: Final = {
    "temp1_fault": {"temp1_fault": "1", "temp1_input": "127000"},
    "temp1_enable": {"temp1_enable": "0", "temp1_input": "127000"},
    "fan1_enable": {"fan1_enable": "0", "fan1_input": "0"},
}


@pytest.mark.parametrize("what", BROKEN)
@pytest.mark.parametrize("complaint", [Complaint.INTAKE, Complaint.SWITCHES_OFF])
def test_a_sensor_that_says_it_is_broken(what: str, complaint: Complaint) -> None:
    """H04: what it measures is nothing."""
    own = of("hwmon", "hwmon0" if what.startswith("temp") else "hwmon1")
    before = accused(located(_of(run_of(laptops.ahci()), complaint)))
    run = run_of(with_files(laptops.ahci(), own, **BROKEN[what]))
    found = accused(located(_of(run, complaint)))
    assert set(found) <= set(before)
    at = [r for r in run.readings if r.outcome.value == "failed" and r.check.startswith("heat")]
    assert at == []


def test_a_zone_that_is_off() -> None:
    """H04: a zone of mode disabled is not looked after by the kernel."""
    bed = with_files(laptops.ahci(), of("thermal"), mode="disabled", temp="127000")
    run = run_of(bed)
    assert not accused(located(run))
    assert [r.check for r in run.readings if r.outcome.value == "failed"] == []


@pytest.mark.parametrize("factor", [1e-3, 1e3])
def test_degrees_of_another_unit(factor: float) -> None:
    """H05: 47 and 47000000 are no thousandths of a laptop."""
    shown = str(int(47000 * factor))
    bed = with_files(laptops.ahci(), of("hwmon", "hwmon0"), temp1_input=shown)
    run = run_of(with_files(bed, of("thermal"), temp=shown))
    found = located(_of(run, Complaint.SWITCHES_OFF))
    assert not {one for one in accused(found) if "cooling" in one or "cpu" in one}
    assert [r.check for r in run.readings if r.outcome.value == "failed"] == []


@dataclass(frozen=True)
class Crossed(Drive):
    """Whose answers are another drive's."""

    other: Any = None

    def answer(self, options: Any) -> tuple[int, bytes]:
        found: tuple[int, bytes] = self.other.answer(options)
        return found


@pytest.mark.parametrize("name", ["ahci", "nvme"])
def test_the_answer_of_another_drive(name: str) -> None:
    """H06: it names itself, and it is not the one that was asked."""
    own = laptops.DISK if name == "ahci" else laptops.NVME
    other = replace(own, model="Grauwerk Q1", serial="GQ1OTHER77", critical_warning=1)
    told = Crossed(own.model, own.serial, own.firmware, own.size, own.nvme, other=other)
    bed = laptops.ALL[name]()
    run = looked(BedHost(replace(bed, drives=dict.fromkeys(bed.drives, told))))
    assert defects(run) == []
    drive = next(p for p in run.inventory.parts if p.kind == "drive")
    found = located(_of(run, Complaint.SLOW))
    assert accused(found).get(drive.id, 0.0) < 0.9
    told_so = [r for r in run.readings if "GQ1OTHER77" in f"{r.says} {r.why_not} {r.details}"]
    assert told_so


@pytest.mark.parametrize("value", [0x00, 0x01, 0xFF])
def test_each_byte_of_the_smbios_table(value: int) -> None:
    """H07: lengths, strings, handles and counts among them."""
    bed = laptops.ahci()
    table = bed.extra[TABLE]
    assert isinstance(table, bytes)
    for at in range(len(table)):
        odd = table[:at] + bytes([value]) + table[at + 1 :]
        host = Broken(bed, {TABLE: odd})
        found = smbios.find(host, Seen(tables=smbios.tables(host)))
        ids = [part.id for part in found.parts]
        assert len(set(ids)) == len(ids), at


@pytest.mark.parametrize("length", [0, 1, 4, 0xFFFF, 0xFFFFFFFF])
def test_an_entry_point_that_lies(length: int) -> None:
    """H07: the table is as long as it is, whatever is told of it."""
    bed = laptops.ahci()
    table = bed.extra[TABLE]
    assert isinstance(table, bytes)
    entry = bytearray(builder.entry_point_64(table))
    entry[12:16] = length.to_bytes(4, "little")
    entry[5] = 0
    entry[5] = -sum(entry) & 0xFF
    key = TABLE.replace("DMI", "smbios_entry_point")
    run = looked(Broken(bed, {key: bytes(entry)}))
    assert defects(run) == []
    assert not accused(located(run))


@pytest.mark.parametrize("value", [0x00, 0xFF])
def test_each_byte_of_an_edid(value: int) -> None:
    """H08: the sum is right, so nothing says that a byte is wrong."""
    sound = edid_builder.panel()
    for at in range(127):
        odd = edid_builder.sealed(sound[:at] + bytes([value]) + sound[at + 1 :])
        found = edid.parse(odd)
        told = " ".join(str(one) for one in msgspec.structs.asdict(found).values() if one)
        assert not set(clean(told)) & STEERING


@pytest.mark.parametrize("full", ["43100", "431000", "50000"])
def test_a_full_charge_in_another_unit(full: str) -> None:
    """H09: full in thousandths of what design and charge are told in."""
    run = run_of(with_files(laptops.ahci(), of("power_supply", "BAT0"), energy_full=full))
    assert outcomes(run, "power.battery-wear") <= {"not judged"}
    assert not accused(located(run))
    for complaint in (Complaint.SWITCHES_OFF, Complaint.NOT_CHARGING):
        found = located(_of(run, complaint))
        assert found.unit is None or found.unit != "battery"


SAID: Final = (
    "e1000e 0000:00:1f.6 {}: NIC Link is Down",
    "e1000e 0000:00:1f.6 {}: Detected Hardware Unit Hang:",
    "e1000e 0000:00:1f.6 {}: Reset adapter unexpectedly",
    "{}: renamed from eth0",
    "IPv6: ADDRCONF(NETDEV_CHANGE): {}: link becomes ready",
    "{}: entered promiscuous mode",
    "{}: authenticate with 02:00:00:00:01:00",
    "{}: link is not ready",
    "NETDEV WATCHDOG: {} (e1000e): transmit queue 0 timed out",
    "{}: failed to read status, timeout, error -5",
)


@pytest.mark.parametrize("name", ["sda", "nvme0", "nvme0n1", "ata1", "ata1.00", "CPU0", "mce"])
def test_an_interface_called_like_a_drive(name: str) -> None:
    """H10: the name is its owner's choice."""
    bed = laptops.nvme() if name.startswith("nvme") else laptops.ahci()
    log = tuple((100.0 + n, 3, words.format(name)) for n, words in enumerate(SAID * 3))
    run = _of(run_of(replace(bed, log=(*bed.log, *log))), Complaint.UNSTABLE)
    kinds = {p.id: p.kind for p in run.inventory.parts}
    found = {one: share for one, share in accused(located(run)).items()
             if kinds.get(one) in ("drive", "processor", "memory-module")}  # fmt: skip
    assert found == {}


@pytest.mark.parametrize("name", ["loop0", "zram0", "nbd0", "ram0", "nullb0", "dm-3", "vda", "md0"])
@pytest.mark.parametrize("laptop", ["ahci", "nvme"])
def test_errors_of_what_is_no_hardware(laptop: str, name: str) -> None:
    """H11: a file, a network or another kernel is behind them."""
    bed = laptops.ALL[laptop]()
    lines = [
        (90.0 + n, 3, words.format(name, 2048 + n))
        for n in range(8)
        for words in ("I/O error, dev {}, sector {} op 0x0:(READ) flags 0x80700 phys_seg 1 prio "
                      "class 2", "Buffer I/O error on dev {}, logical block {}, async page read",
                      "EXT4-fs error (device {}): ext4_find_entry:1658: inode #{}: comm ls: "
                      "reading directory lblock 0")
    ]  # fmt: skip
    run = _of(run_of(replace(bed, log=(*bed.log, *lines))), Complaint.UNSTABLE)
    drives = {p.id for p in run.inventory.parts if p.kind == "drive"}
    assert not {one for one in accused(located(run)) if one in drives}


@pytest.mark.parametrize("online", [("1", "0"), ("0", "1"), ("0", "0"), ("0", "2"), ("", "0")])
@pytest.mark.parametrize("status", ["Charging", "Full"])
def test_two_sockets_for_one_adapter(online: tuple[str, str], status: str) -> None:
    """H12: it hangs in one of them, and the battery charges."""
    bed = laptops.nvme()
    (supply,) = (n for n in bed.nodes if "ucsi" in n.name)
    off = {"voltage_now": "0", "current_now": "0", "current_max": "0"}
    both = tuple(
        replace(supply, path=supply.path[:-1] + str(n + 1),
                files={**supply.files, "online": one, **({} if one == "1" else off)})
        for n, one in enumerate(online)
    )  # fmt: skip
    others = tuple(n for n in bed.nodes if n is not supply)
    bed = with_files(
        replace(bed, nodes=(*others, *both)),
        of("power_supply", "BAT0"),
        status=status,
        power_now="20000000" if status == "Charging" else "0",
    )
    run = run_of(bed)
    assert not accused(located(run))
    failed = [r.check for r in run.readings if r.outcome.value == "failed"]
    assert failed == []
