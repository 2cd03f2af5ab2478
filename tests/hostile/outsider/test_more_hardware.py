"""Drives, buses, tables, supplies and sensors that tell what cannot be, a second time.

Sources: Linux Documentation/ABI (stable/sysfs-block, testing/sysfs-class-power,
testing/sysfs-class-hwmon, testing/sysfs-class-thermal, testing/sysfs-class-backlight,
testing/sysfs-bus-mmc); PCI Local Bus 3.0, 6.1 and 6.7 (configuration space, list of
capabilities); PCI Express 4.0, 7.5 (type 1 headers); DSP0134 3.7, 6.1 (structures and their
strings); JESD84-B51 (life time estimates).
"""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import pytest

from livecheck.host import CommandResult, KernelMessage
from livecheck.records import encode
from tests.hostile.outsider.support import (
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
from tests.inventory import smbios_builder as smbios
from tests.testbeds import config, devices, laptops
from tests.testbeds.bed import Bed, BedHost, Content, Node
from tests.testbeds.devices import ROOT

DMI: Final = "/sys/firmware/dmi/tables"
ODD: Final = ("", "0", "-1", "x", "9" * 5000, "18446744073709551616", "\x00", "1e3", "\u0663")


@pytest.mark.parametrize("sectors", ["0", "1", str(1 << 63), str(1 << 54), *ODD])
@pytest.mark.parametrize("name", ["ahci", "nvme"])
def test_a_drive_of_a_size_that_cannot_be(name: str, sectors: str) -> None:
    """H23: no size passes a check, and one drive that changes its size is one drive."""
    bed = laptops.ALL[name]()
    sizes = ("0", "1", "3", str(1 << 31), "x")
    blocks = {"queue/logical_block_size": sizes[len(sectors) % 5],
              "queue/physical_block_size": sizes[len(sectors) % 4]}  # fmt: skip
    odd = with_files(bed, of("block"), size=sectors, **blocks)
    first, second = run_of(bed), run_of(odd)
    drives = [{p.id for p in run.inventory.parts if p.kind == "drive"} for run in (first, second)]
    assert drives[0] == drives[1] and len(drives[0]) == 1
    assert not accused(located(first, second))
    assert located(first, second).swaps == ()


def test_a_drive_of_many_namespaces() -> None:
    """H24: NVM Express 1.4, 1.6: one controller may hold many; it is one part all the same."""
    bed = laptops.nvme()
    whole = next(n for n in bed.nodes if n.name == "nvme0n1")
    many = [replace(whole, path=f"{whole.path[:-1]}{n}",
                    files={**whole.files, "size": "" if n == 77 else str(n << n % 50)},
                    properties={**whole.properties, "DEVNAME": f"/dev/nvme0n{n}"})
            for n in range(2, 130)]  # fmt: skip
    begun = time.process_time()
    run = run_of(with_nodes(bed, *many))
    drives = [p for p in run.inventory.parts if p.kind == "drive"]
    assert len({part.place for part in drives}) == 1
    assert not accused(located(run))
    assert time.process_time() - begun < 10


def _bridges(kind: str) -> tuple[Node, ...]:
    def bridge(address: str, lower: int, number: str = "8086:9d15") -> Node:
        space = config.express(number, 0x060400, config.ROOT_PORT, lower, slot=lower)
        return devices.function(f"{ROOT}/{address}", space, "pcieport")

    def card(path: str) -> Node:
        return devices.function(f"{ROOT}/{path}", config.express("10ec:8168", 0x020000), "r8169")

    if kind == "its own bus":
        return (bridge("0000:00:1c.5", 0), bridge("0000:00:1c.5/0000:00:1c.6", 0))
    if kind == "one bus below two":
        return (bridge("0000:00:1c.5", 7), bridge("0000:00:1c.6", 7),
                card("0000:00:1c.5/0000:07:00.0"), card("0000:00:1c.6/0000:07:00.0"))  # fmt: skip
    if kind == "the highest bus":
        return (bridge("0000:00:1c.5", 255), card("0000:00:1c.5/0000:ff:1f.7"))
    if kind == "one in the other":
        path, nodes = "0000:00:1c.5", []
        for bus in range(8, 108):
            nodes.append(bridge(path, bus))
            path += f"/0000:{bus:02x}:00.0"
        return (*nodes, card(path))
    return (
        bridge("0000:00:1c.5", 9),
        *(card(f"0000:00:1c.5/0000:09:{n >> 3 & 31:02x}.{n & 7}.{n}") for n in range(1000)),
    )


KINDS = ("its own bus", "one bus below two", "the highest bus", "one in the other", "a thousand")


@pytest.mark.parametrize("kind", KINDS)
def test_a_bus_that_is_no_tree(kind: str) -> None:
    """H25: rings, twins, a hundred bridges in each other, a thousand functions."""
    begun = time.process_time()
    run = run_of(with_nodes(laptops.ahci(), *_bridges(kind)))
    found = located(run)
    assert not accused(found)
    assert time.process_time() - begun < 20


def _spaces(sound: bytes) -> dict[str, bytes]:
    def put(at: int, *values: int) -> bytes:
        return sound[:at] + bytes(values) + sound[at + len(values) :]

    ring = put(0x40, 0x10, 0x60)
    return {
        "ones": b"\xff" * len(sound), "zeros": bytes(len(sound)), "nothing": b"",
        "three bytes": sound[:3], "a header": sound[:64], "64 of ones": b"\xff" * 64,
        "at itself": put(0x40, 0x10, 0x40), "a ring": ring[:0x60] + b"\x01\x40" + ring[0x62:],
        "below the header": put(0x34, 0x3C), "past the end": put(0x34, 0xFC) + b"\xff",
        "extended ring": put(0x100, 0x01, 0x00, 0x01, 0x10) if len(sound) > 256 else sound,
        "extended past the end": put(0x100, 0x01, 0x00, 0xF1, 0xFF),
        "every width and speed": put(0x52, 0xFF, 0xFF),
    }  # fmt: skip


@pytest.mark.parametrize("kind", _spaces(bytes(4096)))
@pytest.mark.parametrize("name", ["ahci", "nvme"])
def test_a_configuration_space_that_lies(name: str, kind: str) -> None:
    """H26: of each function in turn; ones are what a device that does not answer gives."""
    bed = laptops.ALL[name]()
    for node in [n for n in bed.nodes if n.subsystem == "pci"]:
        space = node.files["config"]
        assert isinstance(space, bytes)
        odd = with_files(bed, of("pci", node.name), config=_spaces(space)[kind])
        names = accused(located(run_of(odd)))
        # Ones are what a function that no longer answers reads as (PCI Express 4.0, 2.3.2): it, or
        # what it answers through, may well be accused.
        assert not names or ("ones" in kind and len(names) == 1), (node.name, kind)


def _tables(kind: str) -> bytes:
    sound = smbios.board()
    head = bytes([17, 40, 1, 0])
    return {
        "length 0": bytes([17, 0, 1, 0]) + b"\0\0", "length 1": bytes([17, 1, 1, 0]) + b"\0\0",
        "length 3": bytes([1, 3, 1, 0]) + b"\0\0", "length 255": bytes([17, 255, 1, 0]),
        "no such string": head + b"\x09" * 36 + b"one\0\0", "no end": sound + head + b"x" * 36,
        "strings without end": head + b"\x01" * 36 + b"x" * 65536,
        "ten thousand": (head + b"\x01" * 36 + b"A\0\0") * 10_000,
        "on itself": bytes([17, 40, 1, 0, 1, 0, 1, 0]) + b"\x01" * 32 + b"A\0\0",
        "end at once": bytes([127, 4, 0, 0, 0, 0]), "ends without end": bytes([127, 4, 0, 0]) * 999,
        "escape sequences": head + b"\x01" * 36 + b"\x1b[2J\xe2\x80\xae\x9b\0\0",
    }[kind]  # fmt: skip


SMBIOS = ("length 0", "length 1", "length 3", "length 255", "no such string", "no end",
          "strings without end", "ten thousand", "on itself", "end at once", "ends without end",
          "escape sequences")  # fmt: skip


@pytest.mark.parametrize("kind", SMBIOS)
def test_tables_that_are_none(kind: str) -> None:
    """H27: through the live path, with a memory of 8 GB that Linux counts."""
    bed, table = laptops.ahci(), _tables(kind)
    extra: dict[str, Content] = {
        f"{DMI}/DMI": table, f"{DMI}/smbios_entry_point": smbios.entry_point_64(table),
        "/proc/meminfo": "MemTotal:        8000000 kB\n",
    }  # fmt: skip
    begun = time.process_time()
    run = run_of(replace(bed, extra={**bed.extra, **extra}))
    assert not accused(located(run))
    assert "failed" not in outcomes(run, "memory.size")
    assert time.process_time() - begun < 20


SUPPLIES: Final[tuple[dict[str, Content], ...]] = (
    {"type": "Battery", "scope": "Device", "capacity": "1", "status": "Discharging"},
    {"type": "Wormhole", "online": "1"},
    {},
    {"type": "Battery", "present": "0"},
    {"type": "Battery", "scope": "Device", "capacity": "300", "energy_full": "-1"},
    {"type": "UPS", "status": "Discharging", "capacity": "0"},
    {"type": "Mains", "online": "0", "energy_full": "1", "energy_full_design": "9"},
)


def test_fifty_supplies() -> None:
    """H29: only what the laptop runs from is judged (sysfs-class-power: scope)."""
    bed = laptops.ahci()
    path = "/sys/devices/virtual/power_supply/odd"
    many = [Node("power_supply", f"{path}{n}", SUPPLIES[n % len(SUPPLIES)]) for n in range(50)]
    run = run_of(with_nodes(bed, *many))
    assert not accused(located(run))
    assert len([p for p in run.inventory.parts if p.kind == "battery"]) == 1


@pytest.mark.parametrize("name", ["capacity", "cycle_count", "status", "present", "technology"])
def test_a_battery_that_says_what_nobody_knows(name: str) -> None:
    """H29: of the laptop's own battery."""
    for value in (*ODD, "300", str(1 << 31), "Levitating", "\u202e", "2"):
        bed = with_files(laptops.ahci(), of("power_supply", "BAT0"), **{name: value})
        assert not accused(located(run_of(bed))), value


@pytest.mark.parametrize("name", ["online", "voltage_now", "voltage_max", "current_max",
                                  "current_now", "usb_type", "type"])  # fmt: skip
def test_an_adapter_that_cannot_be(name: str) -> None:
    """H30: of the barrel jack's and of USB-C's."""
    for value in (*ODD, "2", "255", str(10**18), "-5000000", str(1 << 63), "[C"):
        for make in (laptops.ahci, laptops.nvme):
            for begin in ("AC", "ucsi"):
                bed = with_files(make(), of("power_supply", begin), **{name: value})
                assert not accused(located(run_of(bed))), value


def test_sensors_without_number() -> None:
    """H31: 400 chips of one name, 20 sensors each."""
    files: dict[str, Content] = {"name": "coretemp"}
    for n in range(1, 21):
        files |= {f"temp{n}_input": "47000", f"temp{n}_label": "Package id 0",
                  f"temp{n}_crit": "100000", f"fan{n}_input": "2000"}  # fmt: skip
    chips = [Node("hwmon", f"/sys/devices/platform/c.{n}/hwmon/hwmon{n + 10}", files)
             for n in range(400)]  # fmt: skip
    begun = time.process_time()
    run = run_of(with_nodes(laptops.ahci(), *chips))
    assert not accused(located(run))
    assert time.process_time() - begun < 20


@pytest.mark.parametrize("value", [*ODD, "255", "-2147483648"])
def test_a_cooling_device_above_its_own_most(value: str) -> None:
    """H32: whatever it says, a fan has not failed by it."""
    path = "/sys/devices/virtual/thermal/cooling_device0"
    for now, most in ((value, "3"), ("3", value), (value, value)):
        files = {"type": "Fan", "cur_state": now, "max_state": most}
        run = run_of(with_nodes(laptops.ahci(), Node("thermal", path, files)))
        assert not accused(located(run))


@pytest.mark.parametrize("day", ["1970-01-01", "2000-01-01", "2255-12-31", "0000-00-00", "x", ""])
def test_a_hardware_clock_that_lies(day: str) -> None:
    """H33: rtc0 as Documentation/ABI/testing/sysfs-class-rtc has it."""
    path = "/sys/devices/pnp0/00:02/rtc/rtc0"
    for since in ("0", "-1", "9" * 30, "x", str(1 << 63)):
        node = Node(
            "rtc", path, {"date": day, "time": "99:99:99", "since_epoch": since, "name": "x"}
        )
        bed = laptops.ahci()
        for driver in ("", "batt_status\t: \n", "batt_status\t: okay\nbatt_status\t: dead\n" * 999):
            extra: dict[str, Content] = {**bed.extra, "/proc/driver/rtc": driver}
            run = run_of(replace(with_nodes(bed, node), extra=extra))
            assert not accused(located(run))
            passed = {r.check for r in run.readings if r.outcome.value == "passed"}
            assert "firmware.clock" not in passed, since


@pytest.mark.parametrize("value", ODD)
def test_a_backlight_that_cannot_be(value: str) -> None:
    """H34: twelve of them, of no steps, above their most, of text."""
    sorts = ("raw", "platform", "firmware", "", value)
    nodes = [Node("backlight", f"{ROOT}/0000:00:02.0/backlight/b{n}",
                  {"brightness": value, "max_brightness": (value, "0", "7")[n % 3],
                   "actual_brightness": value, "type": sorts[n % 5], "bl_power": value})
             for n in range(12)]  # fmt: skip
    assert not accused(located(run_of(with_nodes(laptops.ahci(), *nodes))))


def test_keyboards_and_lids_without_number() -> None:
    """H35: 300 input devices with masks of noise, of nothing, and of 64 KiB."""
    masks = ("", "0", "ffffffffffffffff " * 4096, "x", "\x00", "-1", "120013")
    nodes = []
    for n in range(300):
        mask = masks[n % len(masks)]
        files = {"name": ("AT Translated Set 2 keyboard", "Lid Switch", mask)[n % 3],
                 "phys": "isa0060/serio0/input0", "capabilities/ev": mask,
                 "capabilities/key": mask, "capabilities/sw": mask, "id/bustype": mask}  # fmt: skip
        path = f"/sys/devices/platform/i8042/serio0/input/input{n}"
        nodes.append(Node("input", path, files, {"EV": mask, "KEY": mask, "SW": mask}))
    begun = time.process_time()
    assert not accused(located(run_of(with_nodes(laptops.ahci(), *nodes))))
    assert time.process_time() - begun < 20


@pytest.mark.parametrize("life", ["0x00 0x00", "0x0c 0xff", "0xff 0xff", "x y", "0x01", "",
                                  "0x01 " * 9, "-0x1 0x01", "11 11", "0x1_0 0x01"])  # fmt: skip
@pytest.mark.parametrize("spare", ["0x77", "0x00", "", "x", "0xff"])
def test_an_emmc_that_cannot_be(life: str, spare: str) -> None:
    """H38: values that JESD84-B51 reserves say nothing."""
    own = f"{ROOT}/0000:00:1e.6/mmc_host/mmc0/mmc0:0001"
    nodes = (
        devices.function(f"{ROOT}/0000:00:1e.6", config.plain("8086:9d2d", 0x080501), "sdhci-pci"),
        Node("mmc", own, {"type": "MMC", "name": "DA4064", "serial": "0x1f2e3d4c",
                          "life_time": life, "pre_eol_info": spare, "manfid": "0x15"},
             {"MMC_TYPE": "MMC"}, "mmcblk"),
        Node("block", f"{own}/block/mmcblk0", {"size": "122142720", "removable": "0", "ro": "0"},
             {"DEVTYPE": "disk", "DEVNAME": "/dev/mmcblk0", "MAJOR": "179", "MINOR": "0"},
             node=True),
    )  # fmt: skip
    run = run_of(with_nodes(laptops.ahci(), *nodes))
    told = {r.outcome.value for r in run.readings if r.source.endswith(("life_time", "eol_info"))}
    assert not told & {"passed"} or (life, spare) == ("", ""), run.readings
    assert "storage.worn" not in {r.check for r in run.readings if r.outcome.value == "failed"}
    assert not accused(located(run))


def test_screens_of_one_edid() -> None:
    """H39: two panels that call themselves the same, and one that never says the same twice."""
    panel = edid_builder.panel()
    card = f"{ROOT}/0000:00:02.0/drm/card0"
    nodes = [Node("drm", card)]
    for name in ("eDP-1", "DP-1"):
        nodes.append(Node("drm", f"{card}/card0-{name}", {"status": "connected", "edid": panel,
                                                          "enabled": "enabled"}))  # fmt: skip
    run = run_of(with_nodes(laptops.ahci(), *nodes))
    assert not accused(located(run))

    class Changing(BedHost):
        looks = 0

        def read(self, path: str) -> bytes:
            self.looks += 1
            found = super().read(path)
            if not path.endswith("/edid"):
                return found
            return found[:40] + bytes([self.looks & 0xFF]) + found[41:]

    other = looked(Changing(with_nodes(laptops.ahci(), *nodes)))
    assert defects(other) == []
    assert "passed" not in outcomes(other, "display.edid")


def test_kernel_messages_out_of_order() -> None:
    """H40: the buffer's order is what counts, whatever a message says of its time."""
    times = (0.0, -5.0, float(1 << 64), 3.0, 1e-9, float("inf"), float("nan"), 2.0)
    bed = laptops.ahci()

    class Odd(BedHost):
        def kernel_log(self) -> tuple[KernelMessage, ...]:
            found = [
                KernelMessage(t, 6, f"usb 1-{n + 20}: new device") for n, t in enumerate(times)
            ]
            return (*super().kernel_log(), *found, *found)

    run = looked(Odd(bed))
    assert defects(run) == []
    assert not accused(located(run))
    json.loads(encode(run))


class Answers(BedHost):
    """smartctl says something else."""

    def __init__(self, bed: Bed, answer: CommandResult) -> None:
        super().__init__(bed)
        self._answer = answer

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        return self._answer if argv[0] == "smartctl" else super().command(argv, deadline)


def _smart(change: str) -> CommandResult:
    sound = json.dumps(laptops.DISK.json()).encode()
    return {
        "late": CommandResult(None, sound[:100], b"", "smartctl was killed at its deadline"),
        "late and whole": CommandResult(None, sound, b"", "smartctl was killed at its deadline"),
        "64 MiB": CommandResult(0, sound[:-1] + b',"x":"' + b"y" * (64 << 20) + b'"}', b""),
        "deep": CommandResult(0, b"[" * 100_000 + b"]" * 100_000, b""),
        "deep within": CommandResult(
            0, sound[:-1] + b',"x":' + b"[" * 9999 + b"]" * 9999 + b"}", b""
        ),
        "twice": CommandResult(0, sound + sound, b""),
        "keys twice": CommandResult(0, b'{"smart_status":{"passed":false},' + sound[1:], b""),
        "nothing": CommandResult(0, b"", b""),
        "noise": CommandResult(0, bytes(range(256)) * 99, b""),
        "killed": CommandResult(-11, sound, b""),
        "status 255": CommandResult(255, sound, b""),
    }[change]


LATE = ("late", "late and whole", "64 MiB", "deep", "deep within", "twice", "keys twice", "nothing",
        "noise", "killed", "status 255")  # fmt: skip


@pytest.mark.parametrize("change", LATE)
def test_a_drive_that_answers_otherwise(change: str) -> None:
    """H41: too late, too much, nested without end, in two documents."""
    begun = time.process_time()
    run = looked(Answers(laptops.ahci(), _smart(change)))
    assert defects(run) == []
    assert not accused(located(run))
    assert time.process_time() - begun < 20
    if change not in ("64 MiB", "deep within", "keys twice", "killed", "status 255"):
        assert "passed" not in outcomes(run, "storage.health")
