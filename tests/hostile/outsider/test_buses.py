"""Registers, tables, counters and files of the kernel that tell what cannot be, or nothing.

Sources: Linux Documentation/ABI/testing/sysfs-devices-pci-aer_stats and sysfs-devices-edac;
SMBIOS 3.7, 7.18 (memory device: size 7FFFh and FFFFh, speed FFFFh); VESA E-EDID release A2 (sum of
a block, count of extensions); errno(3).
"""

from __future__ import annotations

import errno
import time
from dataclasses import replace

import msgspec
import pytest

from livecheck.host import UdevDevice, Unreadable
from livecheck.inventory import edid
from livecheck.probes.bus.pcie import parse_counters
from tests.hostile.outsider.support import (
    Broken,
    accused,
    defects,
    files_of,
    located,
    looked,
    of,
    outcomes,
    run_of,
    with_files,
)
from tests.inventory import edid_builder
from tests.inventory import smbios_builder as smbios
from tests.testbeds import config, devices, laptops
from tests.testbeds.bed import Bed, BedHost, Content, Node

DMI = "/sys/firmware/dmi/tables"
EDAC = "/sys/devices/system/edac/mc/mc0"
CPU = "/sys/devices/system/cpu/cpu0"
ODD = ("", "0", "-1", "Unknown", "18446744073709551616", "9" * 5000, "1e3", "\x00", "\u0663")


def test_an_edid_that_is_wrong() -> None:
    """H11: a sum that is wrong is said; no number in it raises or divides by nothing."""
    sound = edid_builder.panel()
    assert edid.parse(sound).damage == ()
    for at in range(len(sound)):
        for value in (0, 1, 0x7F, 0xFF):
            bad = sound[:at] + bytes([value]) + sound[at + 1 :]
            found = edid.parse(bad)
            assert bad == sound or found.damage, (at, value)
            mended = bad[:127] + bytes([-sum(bad[:127]) & 0xFF])
            assert edid.parse(mended).preferred is None or edid.parse(mended).preferred
    for length in (0, 1, 127, 129, 255, 65536):
        assert edid.parse((sound * 999)[:length]) is not None
    many = sound[:126] + b"\xff"
    assert "announces 255" in " ".join(edid.parse(many + bytes([-sum(many) & 0xFF])).damage)


@pytest.mark.parametrize("now", [(0.0, 0), (2.5, 31), (8.0, 63), (0.0, 4), (8.0, 0)])
def test_a_link_of_a_width_or_speed_there_is_not(now: tuple[float, int]) -> None:
    """H12: encodings the standard reserves, at one end or both."""
    bed = laptops.nvme()
    for most in (now, (8.0, 4)):
        space = bytearray(config.express("1b36:0010", 0x010802, now=(8.0, 4), most=(8.0, 4)))
        if now[0]:
            space = bytearray(config.express("1b36:0010", 0x010802, now=now, most=most))
        odd = with_files(bed, of("pci", "0000:02"), config=bytes(space))
        assert not accused(located(run_of(odd)))


@pytest.mark.parametrize("value", ODD)
def test_words_in_place_of_a_links_figures(value: str) -> None:
    """H12: as the kernel's files tell them."""
    names = ("current_link_width", "max_link_width", "current_link_speed", "max_link_speed",
             "class", "vendor", "device", "revision")  # fmt: skip
    odd = with_files(laptops.nvme(), of("pci"), **dict.fromkeys(names, value))
    assert not accused(located(run_of(odd)))


@pytest.mark.parametrize("size", [0x7FFF, 0xFFFF, 0, 1, 0x8001])
@pytest.mark.parametrize("speed", [0, 1, 65535])
def test_memory_that_cannot_be(size: int, speed: int) -> None:
    """H13: and one handle twice, slots in no array, and more of them than a board has."""
    module = bytearray(smbios.memory(0x11, "DIMM A"))
    module[12:14] = size.to_bytes(2, "little")
    module[21:23] = speed.to_bytes(2, "little")
    module[32:34] = speed.to_bytes(2, "little")
    for rows in ((bytes(module),), (bytes(module),) * 2, (bytes(module),) * 300,
                 (smbios.memory(0x11, "DIMM A"), bytes(module))):  # fmt: skip
        for array in ((smbios.array(),), ()):
            table = b"".join((smbios.firmware(), smbios.system(smbios.UUID, "S"), *array, *rows,
                              smbios.end()))  # fmt: skip
            extra: dict[str, Content] = {f"{DMI}/DMI": table, f"{DMI}/smbios_entry_point":
                     smbios.entry_point_64(table),
                     "/proc/meminfo": "MemTotal:        8000000 kB\n"}  # fmt: skip
            bed = laptops.ahci()
            assert not accused(located(run_of(replace(bed, extra={**bed.extra, **extra}))))


def _hubs(deep: int) -> tuple[Node, ...]:
    nodes, path, name = [], f"{devices.ROOT}/0000:00:14.0/usb1", "1-1"
    files = {"idVendor": "05e3", "idProduct": "0608", "bDeviceClass": "09", "speed": "480"}
    for n in range(deep):
        path = f"{path}/{name}"
        nodes.append(Node("usb", path, {**files, "devpath": name[2:]},
                          {"DEVTYPE": "usb_device"}, "usb"))  # fmt: skip
        name = f"{name}.{n % 7 + 1}"
    return tuple(nodes)


@pytest.mark.parametrize(
    "things",
    [
        127,
        pytest.param(
            600,
            marks=pytest.mark.xfail(
                strict=True, reason="every pair of components is weighed: 14 s, of 127 things 1 s"
            ),
        ),
    ],
)
def test_a_usb_tree_without_end(things: int) -> None:
    """H14: thirty hubs in each other (USB allows five) and 600 things beside each other.

    One bus has 127 addresses (USB 2.0, 4.6.1).
    """
    bed = laptops.ahci()
    wide = [devices.usb(f"1-{n + 20}", "0c45:6713", (3, 1, 1), "thing") for n in range(things)]
    beside = tuple(node for nodes in wide for node in nodes)
    for more in (_hubs(30), beside):
        begun = time.process_time()
        run = run_of(replace(bed, nodes=(*bed.nodes, *more)))
        assert not accused(located(run))
        assert time.process_time() - begun < 5


def test_the_same_device_is_its_own_parent() -> None:
    """H14: a tree that is a ring, as a lying database of devices would tell it."""

    class Ring(BedHost):
        def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
            found = super().udev(subsystem)
            return tuple(msgspec.structs.replace(d, parent=d.path) for d in found)

    assert defects(looked(Ring(laptops.ahci()))) == []


@pytest.mark.parametrize("value", [*ODD, "-5", "4294967295"])
def test_counters_that_cannot_be(value: str) -> None:
    """H15: EDAC's and AER's as text, as 2^64, below nothing."""
    counts = ("ce_count", "ue_count", "dimm0/dimm_ce_count", "dimm0/dimm_ue_count")
    bed = laptops.nvme()
    extra = {f"{EDAC}/{name}": value for name in counts} | {f"{EDAC}/dimm0/dimm_label": "DIMM A"}
    told = f"RxErr {value}\nBadTLP {value}\nTOTAL_ERR_COR {value}"
    names = ("aer_dev_correctable", "aer_dev_nonfatal", "aer_dev_fatal")
    odd = with_files(bed, of("pci"), **dict.fromkeys(names, told))
    run = run_of(replace(odd, extra={**bed.extra, **extra}))
    true = value == "4294967295"
    assert true or "failed" not in outcomes(run, "pcie.errors")
    assert true or "failed" not in outcomes(run, "memory.corrected-errors")
    assert true or "failed" not in outcomes(run, "memory.uncorrected-errors")
    assert not true or parse_counters(told)


@pytest.mark.parametrize("value", ODD)
def test_a_processor_that_tells_nonsense_of_itself(value: str) -> None:
    """H16: frequencies, limits and throttle counters."""
    names = ("cpufreq/cpuinfo_max_freq", "cpufreq/cpuinfo_min_freq", "cpufreq/scaling_cur_freq",
             "cpufreq/scaling_max_freq", "cpufreq/base_frequency", "online",
             "thermal_throttle/core_throttle_count", "thermal_throttle/package_throttle_count",
             "thermal_throttle/core_throttle_total_time_ms", "topology/core_id",
             "thermal_throttle/package_throttle_total_time_ms")  # fmt: skip
    bed = laptops.ahci()
    extra = {f"{CPU}/{name}": value for name in names}
    run = run_of(replace(bed, extra={**bed.extra, **extra}))
    assert "failed" not in outcomes(run, "heat.throttled")
    if value in ("", "Unknown", "1e3", "\x00", "-1"):
        assert "passed" not in outcomes(run, "heat.throttled")
    assert not accused(located(run))


@pytest.mark.parametrize("count", ["9223372036854775807", "18446744073709551615", "-1"])
def test_a_throttle_counter_of_ones(count: str) -> None:
    """H16: 2^63 times hot since the start is no processor's count."""
    names = ("core_throttle_count", "core_throttle_total_time_ms")
    bed = laptops.ahci()
    extra = {f"{CPU}/thermal_throttle/{name}": count for name in names}
    run = run_of(replace(bed, extra={**bed.extra, **extra}))
    assert not outcomes(run, "heat.throttled") & {"failed", "passed"}


@pytest.mark.slow
@pytest.mark.parametrize("name", laptops.ALL)
def test_any_file_that_answers_otherwise(name: str) -> None:
    """H20: each file in turn: errors, nothing, 64 KiB of noise."""
    bed = laptops.ALL[name]()
    usual = {r.check: r.outcome.value for r in looked(BedHost(bed)).readings}
    noise = bytes(range(256)) * 256
    answers: tuple[int | bytes, ...] = (errno.EIO, errno.ENODATA, b"", noise)
    # Each fourth file, which takes minutes; all of them held once.
    for number, path in enumerate([*files_of(bed), *bed.extra][::4]):
        for answer in (answers[number % 4], answers[(number + 1) % 4]):
            run = looked(Broken(bed, {path: answer}))
            assert defects(run) == [], (path, answer)
            new = {r.check for r in run.readings if r.outcome.value == "passed"
                   and usual.get(r.check) not in ("passed", None)}  # fmt: skip
            assert new == set(), (path, answer)


@pytest.mark.parametrize("number", [errno.EIO, errno.ENODEV, errno.EAGAIN])
@pytest.mark.parametrize("name", laptops.ALL)
def test_no_file_answers(name: str, number: int) -> None:
    """H21: nothing was read: nothing is sound, and nothing is called so."""
    run = looked(Broken(replace(laptops.ALL[name](), drives={}), {}, number))
    assert defects(run) == []
    by_files = {r.check for r in run.readings if r.outcome.value == "passed"
                and r.source.startswith("/sys")}  # fmt: skip
    assert by_files == set()
    found = located(run)
    assert "no fault" not in found.sentence.partition(";")[0]
    assert found.side.value == "undetermined"


class Pulled(BedHost):
    """After so many reads a device is gone, with everything below it."""

    def __init__(self, bed: Bed, path: str, after: int) -> None:
        super().__init__(bed)
        self._path, self._left = path, after

    def read(self, path: str) -> bytes:
        self._left -= path.startswith(self._path)
        if self._left < 0 and path.startswith(self._path):
            raise Unreadable(path, errno.ENODEV)
        return super().read(path)


@pytest.mark.parametrize("below", ["0000:02:00.0", "0000:01:00.0", "PNP0C0A:00", "coretemp.0",
                                   "usb1/1-5"])  # fmt: skip
def test_a_device_is_pulled_while_it_is_looked_at(below: str) -> None:
    """H22: after the first, the second ... read of it; no probe ends by it."""
    bed = laptops.nvme()
    path = next(n.path for n in bed.nodes if below in n.path)
    path = path[: path.index(below) + len(below)]
    inside = sum(p.startswith(path) for p in files_of(bed))
    for after in range(0, 2 * inside + 4, 2):
        assert defects(looked(Pulled(bed, path, after))) == [], after
