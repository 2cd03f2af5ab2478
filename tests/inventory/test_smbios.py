"""SMBIOS tables against dmidecode's reading of the same bytes, and damaged ones."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections import defaultdict
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck.inventory import smbios, smbios_codes, smbios_decode, take
from livecheck.inventory.machine import BY_KERNEL, is_identity
from livecheck.inventory.smbios_codes import SOLDERED_SOCKETS
from livecheck.inventory.smbios_decode import parse, uuid_text
from livecheck.inventory.smbios_table import entry_point, iso_date
from livecheck.inventory.smbios_types import Tables
from livecheck.inventory.tree import Contribution, Seen
from livecheck.probes.firmware.settings import ONBOARD
from livecheck.records import Place, Presence
from tests.inventory import smbios_builder as build
from tests.inventory.fake_host import FakeHost
from tests.inventory.fake_host import seen as seen_of

Told = dict[int, list[dict[str, str]]]
"""What dmidecode tells: type -> structures -> label -> text."""


def dmidecode(path: Path, table: bytes, entry: bytes) -> Told:
    program = shutil.which("dmidecode", path="/usr/sbin:/usr/bin:/sbin")
    assert program, "dmidecode is the reference of these tests: install it"
    build.dump(path / "table.bin", table, entry)
    argv = [program, "--from-dump", str(path / "table.bin")]
    told: Told = defaultdict(list)
    for line in subprocess.run(argv, capture_output=True, text=True, check=True).stdout.split("\n"):
        head = re.match(r"Handle 0x[0-9A-F]+, DMI type (\d+),", line)
        if head:
            told[int(head[1])].append({})
            current = told[int(head[1])][-1]
        label, colon, text = line.strip().partition(": ")
        if line.startswith("\t") and colon:
            current[label] = text
    return told


def find(host: FakeHost) -> Contribution:
    """What the finder makes of a machine of which nothing else is known."""
    return smbios.find(host, seen_of(host))


def read(table: bytes, entry: bytes | None = None) -> Tables:
    return parse(table, entry if entry is not None else build.entry_point_64(table))


def test_every_field_is_what_dmidecode_tells(tmp_path: Path) -> None:
    table = build.laptop()
    mine, told = read(table), dmidecode(tmp_path, table, build.entry_point_64(table))
    assert mine.damage == ()
    assert mine.structures == build.LAPTOP_STRUCTURES
    firmware, system, board, chassis = mine.firmware, mine.system, mine.boards[0], mine.chassis
    assert firmware and system and chassis
    t0, t1, t2, t3 = told[0][0], told[1][0], told[2][0], told[3][0]
    assert (firmware.vendor, firmware.version) == (t0["Vendor"], t0["Version"])
    assert firmware.date == iso_date(t0["Release Date"]) == "2021-07-15"
    assert firmware.rom_bytes == int(t0["ROM Size"].removesuffix(" MB")) << 20
    assert firmware.release == t0["BIOS Revision"]
    assert firmware.controller_release is None and "Firmware Revision" not in t0
    assert (system.maker, system.product) == (t1["Manufacturer"], t1["Product Name"])
    assert (system.version, system.serial) == (t1["Version"], t1["Serial Number"])
    assert (system.uuid, system.sku, system.family) == (t1["UUID"], t1["SKU Number"], t1["Family"])
    assert (board.maker, board.product) == (t2["Manufacturer"], t2["Product Name"])
    assert (board.version, board.serial) == (t2["Version"], t2["Serial Number"])
    assert board.asset == t2["Asset Tag"] and t2["Type"] == "Motherboard" and board.kind == 0x0A
    assert smbios_codes.CHASSIS[chassis.kind or 0] == t3["Type"].lower()
    assert chassis.serial == t3["Serial Number"]


def test_processor_slot_and_array_as_dmidecode_tells(tmp_path: Path) -> None:
    table = build.laptop()
    mine, told = read(table), dmidecode(tmp_path, table, build.entry_point_64(table))
    cpu, t4 = mine.processors[0], told[4][0]
    assert (cpu.socket, cpu.maker) == (t4["Socket Designation"], t4["Manufacturer"])
    assert (cpu.version, cpu.serial) == (t4["Version"], t4["Serial Number"])
    assert (cpu.part_number, f"{cpu.volts} V") == (t4["Part Number"], t4["Voltage"])
    assert (f"{cpu.max_mhz} MHz", f"{cpu.current_mhz} MHz") == (
        t4["Max Speed"],
        t4["Current Speed"],
    )
    assert cpu.populated is True and t4["Status"] == "Populated, Enabled"
    assert [str(n) for n in (cpu.cores, cpu.cores_enabled, cpu.threads)] == [
        t4["Core Count"],
        t4["Core Enabled"],
        t4["Thread Count"],
    ]
    for slot, t9 in zip(mine.slots, told[9], strict=True):
        assert slot.name == t9["Designation"]
        assert {True: "In Use", False: "Available", None: "?"}[slot.in_use] == t9["Current Usage"]
        assert slot.bus is not None and slot.devfn is not None
        address = f"{slot.segment:04x}:{slot.bus:02x}:{slot.devfn >> 3:02x}.{slot.devfn & 7}"
        assert address == t9["Bus Address"]
    array, t16 = mine.arrays[0], told[16][0]
    assert t16["Use"] == "System Memory" and array.use == 3
    assert array.max_bytes == int(t16["Maximum Capacity"].removesuffix(" GB")) << 30
    assert str(array.places) == t16["Number Of Devices"]


def test_memory_ranges_and_battery_as_dmidecode_tells(tmp_path: Path) -> None:
    table = build.laptop()
    mine, told = read(table), dmidecode(tmp_path, table, build.entry_point_64(table))
    module, t17 = mine.memory[0], told[17][0]
    assert (module.locator, module.bank) == (t17["Locator"], t17["Bank Locator"])
    assert (module.maker, module.serial) == (t17["Manufacturer"], t17["Serial Number"])
    assert (module.part_number, module.asset) == (t17["Part Number"], t17["Asset Tag"])
    assert f"{module.total_bits} bits" == t17["Total Width"]
    assert f"{module.data_bits} bits" == t17["Data Width"]
    assert smbios_codes.FORMS[module.form or 0] == t17["Form Factor"]
    assert smbios_codes.MEMORY_KINDS[module.kind or 0] == t17["Type"]
    assert f"{module.speed_mts} MT/s" == t17["Speed"]
    assert f"{module.configured_mts} MT/s" == t17["Configured Memory Speed"]
    assert str(module.ranks) == t17["Rank"]
    volts = (module.min_volts, module.max_volts, module.configured_volts)
    labels = ("Minimum Voltage", "Maximum Voltage", "Configured Voltage")
    assert [f"{v} V" for v in volts] == [t17[label] for label in labels]
    assert mine.memory[1].size_bytes == 0 and told[17][1]["Size"] == "No Module Installed"
    mapped, t19 = mine.array_ranges[0], told[19][0]
    assert mapped.first == int(t19["Starting Address"], 16)
    # dmidecode prints the end in units of a kilobyte, rounded up to its last byte.
    assert mapped.last == int(t19["Ending Address"], 16)
    assert mine.device_ranges[0].owner == 0x11 and told[20][0]["Physical Device Handle"] == "0x0011"
    battery, t22 = mine.batteries[0], told[22][0]
    assert (battery.location, battery.maker) == (t22["Location"], t22["Manufacturer"])
    assert (battery.name, battery.chemistry) == (t22["Name"], t22["SBDS Chemistry"])
    assert (battery.serial, battery.made) == (
        t22["SBDS Serial Number"],
        t22["SBDS Manufacture Date"],
    )
    assert f"{battery.design_mwh} mWh" == t22["Design Capacity"] == "50000 mWh"
    assert f"{battery.design_mv} mV" == t22["Design Voltage"] == "11400 mV"
    assert f"{battery.max_error_percent}%" == t22["Maximum Error"]


@pytest.mark.parametrize(
    ("size", "extended", "text", "number"),
    # Worked with dmidecode 3.4 --from-dump.
    [
        (0x2000, 0, "8 GB", 8 << 30),
        (0x7FFF, 0x8000, "32 GB", 32 << 30),
        (0, 0, "No Module Installed", 0),
        (0x8200, 0, "512 kB", 512 << 10),
        (0xFFFF, 0, "Unknown", None),
    ],
)
def test_module_sizes_are_read_in_every_unit(
    size: int, extended: int, text: str, number: int | None, tmp_path: Path
) -> None:
    table = build.array() + build.memory(0x11, "A", size=size, extended=extended) + build.end()
    assert dmidecode(tmp_path, table, build.entry_point_64(table))[17][0]["Size"] == text
    assert read(table).memory[0].size_bytes == number


# 24h is left out: dmidecode prints BGA1155, but that name is an LGA socket's (from memory).
@pytest.mark.parametrize("code", sorted({*range(1, 0x3D)} - {0x24}))
def test_soldered_processors_are_dmidecodes_ball_grids(code: int, tmp_path: Path) -> None:
    table = build.processor(upgrade=code) + build.end()
    upgrade = dmidecode(tmp_path, table, build.entry_point_64(table))[4][0]["Upgrade"]
    assert (code in SOLDERED_SOCKETS) == ("BGA" in upgrade or upgrade == "None")


@pytest.mark.parametrize("code", sorted(set(smbios_codes.FORMS) - {1, 2}))
def test_forms_are_dmidecodes(code: int, tmp_path: Path) -> None:
    table = build.memory(0x11, "A", form=code) + build.end()
    told = dmidecode(tmp_path, table, build.entry_point_64(table))[17][0]["Form Factor"]
    assert smbios_codes.FORMS[code].lower() == told.lower()


@pytest.mark.parametrize("code", sorted(smbios_codes.MEMORY_KINDS))
def test_memory_kinds_are_dmidecodes(code: int, tmp_path: Path) -> None:
    table = build.memory(0x11, "A", kind=code) + build.end()
    told = dmidecode(tmp_path, table, build.entry_point_64(table))[17][0]["Type"]
    assert smbios_codes.MEMORY_KINDS[code].lower() == told.lower()


@pytest.mark.parametrize("code", sorted(set(smbios_codes.CHASSIS)))
def test_chassis_are_dmidecodes(code: int, tmp_path: Path) -> None:
    table = build.chassis(kind=code) + build.end()
    told = dmidecode(tmp_path, table, build.entry_point_64(table))[3][0]["Type"]
    assert smbios_codes.CHASSIS[code].replace("-", " ").lower() == told.replace("-", " ").lower()


def test_more_cores_than_a_byte_holds_are_counted(tmp_path: Path) -> None:
    table = build.processor(cores=256) + build.end()
    told = dmidecode(tmp_path, table, build.entry_point_64(table))[4][0]
    assert str(read(table).processors[0].cores) == told["Core Count"] == "256"


def test_golden_64_bit_entry_point() -> None:
    """Bytes that dmidecode accepts; with one bit flipped it finds no entry point."""
    golden = bytes.fromhex("5f534d335fc0180304000100" + "6e010000" + "2000000000000000")
    head, wrong = entry_point(golden)
    assert head is not None and head.version == (3, 4) and head.table_bytes == 0x16E
    assert wrong == ()
    flipped = bytes([*golden[:8], golden[8] ^ 1, *golden[9:]])
    assert entry_point(flipped)[1] == ("The checksum of the SMBIOS 64-bit entry point is wrong.",)


def test_32_bit_entry_point_is_dmidecodes(tmp_path: Path) -> None:
    table = build.laptop()
    entry = build.entry_point_32(table, build.LAPTOP_STRUCTURES)
    assert dmidecode(tmp_path, table, entry)[0][0]["Vendor"] == "Grauwerk Firmware"
    assert parse(table, entry).damage == ()
    short = parse(table, build.entry_point_32(table, 9)).damage
    assert short == ("The SMBIOS entry point counts 9 structures, the table holds 14.",)


def test_uuid_is_stored_as_the_standard_shows(tmp_path: Path) -> None:
    """DSP0134 7.2.1; before 2.6 the bytes stand in the order they are printed."""
    assert uuid_text(build.UUID, (2, 6)) == "00112233-4455-6677-8899-aabbccddeeff"
    table = build.system() + build.end()
    entry = build.entry_point_32(table, 2, version=(2, 5))
    told = dmidecode(tmp_path, table, entry)[1][0]["UUID"]
    assert uuid_text(build.UUID, (2, 5)) == told == "33221100-5544-7766-8899-aabbccddeeff"
    assert uuid_text(b"\xff" * 16, (3, 0)) is None
    assert uuid_text(bytes(16), (3, 0)) is None


@pytest.mark.parametrize(
    "value",
    [
        None,
        "   ",
        "To Be Filled By O.E.M.",
        "Default string",
        "System Serial Number",
        "0000000000",
        "123456789",
        "FFFFFFFF-FFFF-FFFF-FFFF-FFFFFFFFFFFF",
        "03000200-0400-0500-0006-000700080009",
    ],
)
def test_lies_are_no_identity(value: str | None) -> None:
    """Default strings of firmware: common practice, no source."""
    assert not is_identity(value)


@pytest.mark.parametrize("value", ["TN4711-0815", "00112233-4455-6677-8899-aabbccddeeff"])
def test_honest_values_are_identities(value: str) -> None:
    assert is_identity(value)


# --- Damaged tables


def test_damage_is_told_and_the_rest_is_read() -> None:
    whole = build.laptop()
    cut = whole[: whole.index(b"SW8G") + 2]
    mine = read(cut)
    assert mine.system is not None and mine.system.serial == "TN4711-0815"
    assert any("run over the end of the table" in d for d in mine.damage)
    assert any("no end-of-table structure" in d for d in mine.damage)


def test_single_structures_that_break_rules_are_told() -> None:
    dangling = build.structure(1, 1, 0x1B, [(4, "B", 9)], ("only one",))
    orphan = build.memory(0x11, "A", array_handle=0x99)
    twin = build.board() + build.board()
    short = build.structure(17, 5, 8, [])
    zero = bytes([4, 0, 0, 0])
    assert "names string 9, but has 1" in read(dangling + build.end()).damage[0]
    assert "handle 0099h, which is not in the table" in read(orphan + build.end()).damage[0]
    assert read(twin + build.end()).damage == ("Two SMBIOS structures have the handle 0002h.",)
    assert "shorter than the standard allows" in read(short + build.end()).damage[0]
    assert "0 bytes long" in read(zero).damage[0]


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=400), st.none() | st.binary(max_size=40))
def test_no_bytes_raise(table: bytes, entry: bytes | None) -> None:
    parse(table, entry)


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_no_damaged_table_raises(data: st.DataObject) -> None:
    table = bytearray(build.laptop())
    for _ in range(data.draw(st.integers(1, 8))):
        table[data.draw(st.integers(0, len(table) - 1))] = data.draw(st.integers(0, 255))
    cut = bytes(table[: data.draw(st.integers(0, len(table)))])
    host = FakeHost({smbios.TABLE: cut, smbios.ENTRY_POINT: build.entry_point_64(cut)})
    found = find(host)
    assert len({p.id for p in found.parts}) == len(found.parts)
    assert len({p.id for p in found.places}) == len(found.places)


# --- The inventory


def machine(table: bytes, **more: str | bytes | int) -> FakeHost:
    files = {smbios.TABLE: table, smbios.ENTRY_POINT: build.entry_point_64(table)}
    return FakeHost({**files, **more})


def test_laptop_becomes_places_and_parts() -> None:
    cpuinfo = "processor\t: 0\nmodel name\t: Rechenwerk  RW 8500U\nprocessor\t: 1\n"
    found = find(machine(build.laptop(), **{"/proc/cpuinfo": cpuinfo}))
    assert found.machine is not None
    assert found.machine.uuid == "00112233-4455-6677-8899-aabbccddeeff"
    assert found.machine.installed_memory_bytes == 8 << 30
    assert found.machine.chassis == "notebook"
    places = {p.id: p for p in found.places}
    assert places["dimm:DIMM A"].presence is Presence.SEEN
    assert places["dimm:DIMM B"].presence is Presence.EMPTY
    assert places["dimm:DIMM B"].expects == "memory-module"
    parts = {p.kind: p for p in found.parts}
    assert parts["memory-module"].id == "memory-module:4A1B2C3D"
    assert parts["memory-module"].place == "dimm:DIMM A"
    assert not parts["memory-module"].soldered
    assert parts["processor"].soldered and parts["processor"].model == "Rechenwerk RW 8500U"
    assert parts["processor"].attributes["logical_processors"] == 2
    assert found.gaps == ()


def test_soldered_memory_by_form_or_by_kind() -> None:
    """DSP0134: form 0Bh is a row of chips; LPDDR has no module but CAMM (from memory)."""
    chips = build.memory(0x11, "Onboard", form=0x0B, kind=0x1E, serial="00000000")
    liar = build.memory(0x12, "Second", form=0x0D, kind=0x23, serial="00000000")
    found = find(machine(build.array() + chips + liar + build.end()))
    modules = [p for p in found.parts if p.kind == "memory-module"]
    assert [p.soldered for p in modules] == [True, True]
    assert [p.identity for p in modules] == [None, None]
    assert modules[0].id == "memory-module@dimm:Onboard"


def test_places_named_alike_are_told_apart_and_doubled_serials_dropped() -> None:
    a = build.memory(0x11, "DIMM 0", bank="P0 CHANNEL A", serial="77AA12BC")
    b = build.memory(0x12, "DIMM 0", bank="P0 CHANNEL B", serial="77AA12BC")
    c = build.memory(0x13, "DIMM 0", bank="P0 CHANNEL B", serial="77AA12BD")
    found = find(machine(build.array() + a + b + c + build.end()))
    places = [p.id for p in found.places if p.kind == "memory-slot"]
    assert places == [
        "dimm:DIMM 0/P0 CHANNEL A",
        "dimm:DIMM 0/P0 CHANNEL B#1",
        "dimm:DIMM 0/P0 CHANNEL B#2",
    ]
    modules = [p.identity for p in found.parts if p.kind == "memory-module"]
    assert modules == [None, None, "serial:77AA12BD"]


def test_video_memory_is_no_memory_place() -> None:
    table = build.array(use=4) + build.memory(0x11, "VRAM") + build.end()
    assert not [p for p in find(machine(table)).places if p.kind == "memory-slot"]


def test_lies_are_left_out_of_the_machine_and_told() -> None:
    table = build.system(uuid=b"\xff" * 16, serial="To Be Filled By O.E.M.") + build.end()
    found = find(machine(table))
    assert found.machine is not None
    assert found.machine.serial is None and found.machine.uuid is None
    assert found.gaps == (
        "The firmware gives “To Be Filled By O.E.M.” as serial number, which identifies nothing.",
    )


def test_onboard_devices_as_dmidecode_tells(tmp_path: Path) -> None:
    """Types 41 and 10, switched on and off; a slot that cannot be used."""
    table = b"".join(
        (build.onboard("LAN", 5, False), build.onboard("WLAN", 0x0B, True, 0x2A),
         build.old_onboard(("AUDIO", 7, True), ("VIDEO", 3, False)),
         build.slot("M.2 WLAN", 5, 0, 0xE0), build.end())
    )  # fmt: skip
    told = dmidecode(tmp_path, table, build.entry_point_64(table))
    mine = smbios_decode.parse(table, None)
    new = [(one.name, one.enabled) for one in mine.onboard[:2]]
    assert new == [(t["Reference Designation"], t["Status"] == "Enabled") for t in told[41]]
    old = {(one.name, one.enabled) for one in mine.onboard[2:]}
    assert old == {("AUDIO", True), ("VIDEO", False)}
    assert told[9][0]["Current Usage"] == "Unavailable" and mine.slots[0].unavailable
    assert [ONBOARD[one.kind or 0] for one in mine.onboard] == [
        "wired network", "wireless network", "sound", "graphics"
    ]  # fmt: skip
    assert [t["Type"] for t in told[41]] == ["Ethernet", "Wireless LAN"]


def test_slots_get_their_printed_names() -> None:
    host = machine(build.laptop())
    seen = Seen(tables=smbios.tables(host))
    place = "slot:0000:00:1c.0"
    known = Place(id=place, kind="pcie-slot", name="PCIe slot", secondary_bus="0000:02")
    seen.places[place] = known
    found = smbios.find(host, seen)
    named = [p for p in found.places if p.id == place]
    assert (named[0].printed_name, named[0].expects) == ("M.2 SSD", "drive")
    assert named[0].attributes == {"in_use_by_firmware": True}


def test_without_root_or_a_table_the_kernels_copy_serves() -> None:
    kernel: dict[str, str | bytes | int] = {
        f"{BY_KERNEL}/sys_vendor": "Talnau\n",
        smbios.TABLE: 13,
    }
    found = find(FakeHost(kernel, as_root=False))
    assert found.machine is not None and found.machine.vendor == "Talnau"
    assert "only be read as root" in found.gaps[0]
    nothing = find(FakeHost())
    assert "hands over no SMBIOS table" in nothing.gaps[0]
    assert [p.id for p in nothing.parts] == ["processor@socket:0"]
    assert [c.id for c in nothing.controllers] == ["memory-controller"]


def test_the_table_is_read_once_for_the_whole_inventory() -> None:
    class Counting(FakeHost):
        read_table = 0

        def read(self, path: str) -> bytes:
            self.read_table += path == smbios.TABLE
            return super().read(path)

    host = Counting({smbios.TABLE: build.laptop()})
    assert take(host).machine.vendor is not None
    assert host.read_table == 1
