"""Starts again and again, by themselves, in a virtual laptop with the stick's own system.

QEMU's clock wakes no machine that is off: there the test switches it on when its alarm is due
(``-no-shutdown`` keeps the switched-off machine, QMP ``system_reset`` and ``cont`` start it).
"""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest

pytest.importorskip("qemu.qmp", reason="qemu.qmp is not installed")
from tests.image.slept import Laptop, failed, outcome
from tests.image.test_pulled import SECONDS
from tests.virtual_laptop.stick import Stick

pytestmark = pytest.mark.boot

ALARM: Final = 60
LONGER: Final = 4 * SECONDS
NOTES: Final = "/media/shopdrive/livecheck-cases/.starts/mounted"
RUNS: Final = "/media/shopdrive/livecheck-cases/*/runs/*/run.json"


@pytest.fixture
def laptop(image: Path, tmp_path: Path) -> Iterator[Laptop]:
    """Keeps standing when it switches itself off."""
    one = Laptop(Stick(image, tmp_path), tmp_path / "first", ["-no-shutdown"])
    with one.guest:
        one.ready()
        yield one


def test_a_sound_machine_starts_as_often_as_it_is_asked_to(laptop: Laptop, tmp_path: Path) -> None:
    """Twice warm and once cold, unattended; nobody is accused, and each start was counted."""
    laptop.shell.type(f"livecheck starts --warm 2 --cold 1 --seconds {ALARM} --yes --ticket W1")
    laptop.until("shutdown", LONGER)
    time.sleep(ALARM)
    laptop.guest.tell("system_reset")
    laptop.guest.tell("cont")
    laptop.shell.ready(SECONDS)
    _saved(laptop)
    run = laptop.run_of("W1", tmp_path / "cases")
    assert outcome(run, "starts.warm") == outcome(run, "starts.cold") == ["passed"]
    assert failed(run, "starts", "kernel", "ended") == []
    (warm,) = (one for one in run.readings if one.check == "starts.warm")
    assert warm.says.startswith("0 of 2 ")
    assert len([line for line in warm.details if re.match(r"start \d", line)]) == 2


def test_a_start_that_hangs_is_counted(laptop: Laptop, tmp_path: Path) -> None:
    """It is reset between the stick's mount and livecheck's first line, as by a hand at the power
    key; the one after that tells of it, and does what is left to be done."""
    laptop.shell.type("livecheck starts --warm 2 --yes --ticket W2")
    _noted(laptop)
    laptop.guest.tell("system_reset")
    laptop.shell.ready(LONGER)
    _saved(laptop)
    run = laptop.run_of("W2", tmp_path / "cases")
    assert outcome(run, "starts.warm") == ["failed"]
    (warm,) = (one for one in run.readings if one.check == "starts.warm")
    assert warm.value == 1
    assert warm.says.startswith("1 of 2 ")
    assert any("hung" in line for line in warm.details), warm.details


def _saved(laptop: Laptop) -> None:
    """Until what came of it is a run."""
    _until_said(laptop, f"saved-$(ls {RUNS} | wc -l)", "saved-1")


def _noted(laptop: Laptop) -> None:
    """Until the next start has mounted the shop drive: the one that ordered it noted nothing."""
    _until_said(laptop, f"noted-$(wc -l <{NOTES})", "noted-1")


def _until_said(laptop: Laptop, words: str, wanted: str) -> None:
    """Asks again and again: the start that was asked may be over before it answers."""
    before = len(laptop.shell.said())

    def there() -> bool:
        laptop.shell.type(f"echo {words}")
        time.sleep(1.0)
        return wanted in laptop.shell.said()[before:]

    laptop.guest.until(there, LONGER, wanted)
