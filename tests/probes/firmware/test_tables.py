"""ACPI checksums against the compiler's tables, SMBIOS rules, and the clock."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from livecheck.inventory import clock as clocks
from livecheck.inventory import smbios
from livecheck.probes.firmware.settings import worth_writing
from livecheck.probes.firmware.tables import ACPI, probe, table_fault
from livecheck.records import KernelEvent, Outcome, Reading
from tests.inventory import smbios_builder as build
from tests.inventory.fake_host import FakeHost, attributes, device
from tests.probes.support import context, readings, untested

GOLDEN = bytes.fromhex(
    "53534454 2c000000 024b5445 53542020 54455354 54424c20 01000000 494e544c 25092020"
    "085c5858 5f5f0a05"
)
"""A table compiled by iasl 20200925; its checksum is 4Bh and it sums to 0."""


def test_a_table_that_sums_to_zero_passes() -> None:
    assert table_fault(GOLDEN) is None and GOLDEN[9] == 0x4B
    assert table_fault(GOLDEN[:40] + b"\0\0\0\1") is not None
    assert table_fault(GOLDEN[:-1]) == "its header says 44 bytes, it has 43"
    assert table_fault(b"SSDT") == "it is only 4 bytes long"


def test_tables_of_the_acpi_compiler_pass(tmp_path: Path) -> None:
    """A table from iasl passes; each single bit flipped in it is found."""
    program = shutil.which("iasl")
    assert program, "iasl is the reference of this test: install acpica-tools"
    source = 'DefinitionBlock ("", "SSDT", 2, "TEST", "TESTTBL", 1) { Name (\\XX__, 5) }'
    (tmp_path / "t.asl").write_text(source)
    subprocess.run([program, "-p", tmp_path / "t", tmp_path / "t.asl"], check=True,
                   capture_output=True)  # fmt: skip
    table = (tmp_path / "t.aml").read_bytes()
    assert table_fault(table) is None
    for bit in range(len(table) * 8):
        flipped = bytearray(table)
        flipped[bit // 8] ^= 1 << bit % 8
        assert table_fault(bytes(flipped)) is not None


def test_facs_has_no_checksum() -> None:
    """ACPI 5.2.10: the FACS carries none."""
    assert table_fault(b"FACS" + (64).to_bytes(4, "little") + b"\x11" * 56) is None


def test_damaged_tables_are_named() -> None:
    bad = GOLDEN[:-1] + b"\x07"
    files: dict[str, str | bytes | int] = {f"{ACPI}/SSDT1": GOLDEN, f"{ACPI}/dynamic/SSDT2": bad}
    found = readings(probe, context(FakeHost(files)))["firmware.acpi-checksums"]
    assert found.outcome is Outcome.FAILED and found.value == 1
    assert found.details == ("SSDT2: its bytes sum to 02h and not to 0",)
    assert found.at == "firmware"


def test_a_table_that_breaks_the_standard_fails() -> None:
    table = build.laptop()
    files: dict[str, str | bytes | int] = {
        smbios.TABLE: table,
        smbios.ENTRY_POINT: build.entry_point_64(table),
    }
    assert readings(probe, context(FakeHost(files)))["firmware.smbios"].outcome is Outcome.PASSED
    files[smbios.TABLE] = table[:-6]
    assert readings(probe, context(FakeHost(files)))["firmware.smbios"].outcome is Outcome.FAILED


def clock(seconds: int, now: str = "2026-03-01T10:00:00+00:00", driver: str = "") -> Reading:
    table = build.laptop()
    files: dict[str, str | bytes | int] = {
        **attributes("/sys/class/rtc/rtc0", since_epoch=seconds),
        "/proc/driver/rtc": driver,
        smbios.TABLE: table,
    }
    host = FakeHost(files, [device("rtc", "rtc0", "/sys/class/rtc/rtc0")], now=now)
    return readings(probe, context(host, smbios.find, clocks.find))["firmware.clock"]


@pytest.mark.parametrize(
    ("seconds", "outcome"),
    # Computed with date(1). The firmware of the builder is of 2021-07-15.
    [
        (1772359200, Outcome.PASSED),  # 2026-03-01 10:00
        (1772402400, Outcome.PASSED),  # the same day 22:00: local time far from UTC
        (946684800, Outcome.FAILED),  # 2000-01-01: a fallback year
        (1609459200, Outcome.FAILED),  # 2021-01-01: before the firmware was made
        (1790000000, Outcome.FAILED),  # 2026-09-21: months from the system clock
    ],
)
def test_a_clock_before_its_firmware_or_far_ahead_fails(seconds: int, outcome: Outcome) -> None:
    found = clock(seconds)
    assert found.outcome is outcome
    assert found.at == "coin-cell@internal:clock-battery"


def test_a_clock_that_knows_its_battery_is_dead_fails() -> None:
    """drivers/rtc/rtc-cmos.c prints batt_status from the valid bit of register D."""
    good = clock(1772359200, driver="rtc_time\t: 10:00:00\nbatt_status\t: okay\n")
    assert good.outcome is Outcome.PASSED
    dead = clock(1772359200, driver="rtc_time\t: 10:00:00\nbatt_status\t: dead\n")
    assert dead.outcome is Outcome.FAILED


def test_what_cannot_be_read_is_not_tested() -> None:
    files: dict[str, str | bytes | int] = {f"{ACPI}/DSDT": 13, smbios.TABLE: 13}
    why = untested(probe, context(FakeHost(files, as_root=False)))
    assert why["Checksums of the ACPI tables"] == why["SMBIOS table"] == "needs root"
    nothing = untested(probe, context(FakeHost()))
    assert len(nothing) == 5 and all(reason for reason in nothing.values())


# --- Settings and version


def machine(*structures: bytes) -> dict[str, str | bytes | int]:
    table = b"".join((build.firmware(), build.system(), *structures, build.end()))
    return {smbios.TABLE: table, smbios.ENTRY_POINT: build.entry_point_64(table)}


def test_what_the_firmware_has_switched_off() -> None:
    """A slot, an on-board device and cores (DSP0134 types 9, 41 and 4)."""
    table = machine(
        build.onboard("LAN", 5, False), build.onboard("Sound", 7, True),
        build.slot("M.2 WLAN", 5, 0, 0xE0),
    )  # fmt: skip
    found = readings(probe, context(FakeHost(table)))["firmware.settings"]
    assert found.outcome is Outcome.FAILED and found.value == 2
    assert "slot M.2 WLAN" in found.says and "wired network (LAN)" in found.says
    whole = machine(build.onboard("Sound", 7, True), build.slot("M.2 WLAN", 4, 0, 0xE0))
    assert readings(probe, context(FakeHost(whole)))["firmware.settings"].value == 0


def test_acpi_devices_that_are_off_are_told_and_not_counted() -> None:
    """Bits of _STA: 0Dh is present and not enabled, 0Fh enabled, 0 absent (ACPI 6.3.7)."""
    folder = "/sys/bus/acpi/devices"
    files = machine()
    for name, status in (("PNP0501:00", 13), ("PNP0C0A:00", 15), ("PNP0303:00", 0)):
        files[f"{folder}/{name}/status"] = f"{status}\n"
        files[f"{folder}/{name}/path"] = f"\\_SB.{name[:4]}\n"
    found = readings(probe, context(FakeHost(files)))["firmware.settings"]
    assert found.outcome is Outcome.PASSED
    assert found.details == ("ACPI device present and off: PNP0501:00 (\\_SB.PNP0)",)


def test_firmware_is_worth_writing_again_only_with_signs_of_damage() -> None:
    """Damaged tables say so, kernel complaints say a newer one; the caution stands beside."""
    good = Reading(check="firmware.acpi-checksums", at="firmware", outcome=Outcome.PASSED)
    bad = Reading(check="firmware.acpi-checksums", at="firmware", outcome=Outcome.FAILED)
    event = KernelEvent(seconds=1.0, layer="firmware", device=None, says="", raw="",
                        subsystem="firmware")  # fmt: skip
    assert "Nothing here speaks" in worth_writing((), (good,))
    assert "again is worth a try" in worth_writing((), (bad,))
    assert "newer version" in worth_writing((event,), (good,))
    assert all("dead board" in worth_writing(e, (r,)) for e, r in (((), bad), ((event,), good)))


def test_firmware_is_told_with_version_and_date() -> None:
    """Type 0 of the table; without one, not tested."""
    given = context(FakeHost(machine()), smbios.find)
    found = readings(probe, given)["firmware.version"]
    assert found.value == "1.27.0" and "2021-07-15" in found.says
    assert "Firmware version" in untested(probe, context(FakeHost()))
