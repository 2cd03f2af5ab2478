"""Soldered flash tells its life in the extended CSD: values of JESD84-B51, 7.4.35 to 7.4.37."""

from __future__ import annotations

import pytest

from livecheck import knowledge
from livecheck.probes.drive.flash_life import judge
from livecheck.records import Part
from tests.inventory.fake_host import FakeHost

FOLDER = "/sys/bus/mmc/devices/mmc0:0001"
CHECKS = knowledge.load().checks
FLASH = Part(id="drive:F1", kind="drive", name="MMC F1", place="mmc:mmc0", soldered=True,
             attributes={"mmc": "mmc0:0001"})  # fmt: skip


def told(**files: str) -> dict[str, tuple[str, object]]:
    host = FakeHost({f"{FOLDER}/{name}": f"{words}\n" for name, words in files.items()})
    found = (one.reading(FLASH.id, "x", "mmcblk0") for one in judge(host, FLASH, CHECKS))
    return {one.check: (one.outcome.value, one.value) for one in found}


@pytest.mark.parametrize(
    ("life", "outcome", "used"),
    [
        ("0x01 0x01", "passed", 10),
        ("0x00 0x0a", "passed", 100),
        ("0x02 0x0b", "failed", 100),
    ],
)
def test_life_is_told_in_tenths(life: str, outcome: str, used: int) -> None:
    assert told(life_time=life) == {"storage.wear": (outcome, used)}


@pytest.mark.parametrize(("spares", "outcome"), [(1, "passed"), (2, "passed"), (3, "failed")])
def test_the_last_tenth_of_the_spare_blocks_is_urgent(spares: int, outcome: str) -> None:
    assert told(pre_eol_info=f"0x{spares:02x}") == {"storage.health": (outcome, spares)}


@pytest.mark.parametrize("words", ["", "0x00 0x00", "junk", "0xff", "11"])
def test_flash_that_does_not_tell_is_not_judged(words: str) -> None:
    assert told(life_time=words, pre_eol_info=words) == {}
