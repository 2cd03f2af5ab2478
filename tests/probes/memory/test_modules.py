"""Modules listed against memory the kernel has, and counted errors."""

from __future__ import annotations

import pytest

from livecheck.inventory import smbios
from livecheck.probes.memory.modules import EDAC, probe
from livecheck.records import Outcome
from tests.inventory import smbios_builder as build
from tests.inventory.fake_host import FakeHost, attributes
from tests.probes.support import context, readings, untested

TABLE = (
    build.array() + build.memory(0x11, "DIMM A") + build.memory(0x12, "DIMM B", serial="55AA66BB")
    + build.end()
)  # fmt: skip


def host(mem_total_kb: int, **more: str) -> FakeHost:
    files: dict[str, str | bytes | int] = {
        smbios.TABLE: TABLE,
        smbios.ENTRY_POINT: build.entry_point_64(TABLE),
        "/proc/meminfo": f"MemTotal:       {mem_total_kb} kB\nMemFree:  1 kB\n",
    }
    return FakeHost({**files, **more})


@pytest.mark.parametrize(
    ("mem_total_kb", "outcome"),
    # Two modules of 8 GiB: a little kept back; 2 GiB for graphics; one module short; too much.
    [
        (16_300_000, Outcome.PASSED),
        (14 << 20, Outcome.PASSED),
        (8_100_000, Outcome.FAILED),
        (17 << 20, Outcome.NOT_JUDGED),
    ],
)
def test_modules_agree_with_the_memory_the_kernel_got(mem_total_kb: int, outcome: Outcome) -> None:
    found = readings(probe, context(host(mem_total_kb), smbios.find))["memory.modules-seen"]
    assert found.outcome is outcome and found.at == "memory-controller"


@pytest.mark.parametrize("label", ["DIMM B", "BANK 1 DIMM B"])
def test_counted_errors_stand_at_the_module_the_label_names(label: str) -> None:
    """Kernel RAS documentation: ce_count and ue_count of mc*, counts and labels of dimm*.

    ghes_edac writes the bank before the place (Linux 6.12 drivers/edac/ghes_edac.c, from memory).
    """
    mc = f"{EDAC}/mc0"
    files = attributes(mc, ce_count=12, ue_count=0)
    files |= attributes(f"{mc}/dimm0", dimm_ce_count=0, dimm_ue_count=0, dimm_label="DIMM A")
    files |= attributes(f"{mc}/dimm1", dimm_ce_count=12, dimm_ue_count=0, dimm_label=label)
    found = readings(probe, context(host(16_300_000, **files), smbios.find))
    corrected = found["memory.corrected-errors"]
    assert corrected.outcome is Outcome.FAILED and corrected.value == 12
    assert corrected.at == "memory-module:55AA66BB"
    assert found["memory.uncorrected-errors"].outcome is Outcome.PASSED


def test_errors_of_unknown_or_several_modules_stay_with_the_controller() -> None:
    mc = f"{EDAC}/mc0"
    files = attributes(mc, ce_count=3, ue_count=1)
    files |= attributes(f"{mc}/dimm0", dimm_ce_count=1, dimm_label="DIMM A")
    files |= attributes(f"{mc}/dimm1", dimm_ce_count=2, dimm_label="mc#0 unknown")
    found = readings(probe, context(host(16_300_000, **files), smbios.find))
    assert found["memory.corrected-errors"].at == "memory-controller"
    assert found["memory.uncorrected-errors"].outcome is Outcome.FAILED


def test_nothing_to_test() -> None:
    why = untested(probe, context(FakeHost(), smbios.find))
    assert len(why) == 2 and "no error correction" in why["Counted memory errors"]
