"""Sleep in a virtual laptop: QEMU's S3, its clock's alarm, a real kernel, the stick's system.

Outside sources: QEMU tells by itself whether the machine is suspended (QMP ``query-status``);
Linux writes ``PM: suspend exit`` when it is back (kernel/power/suspend.c).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("qemu.qmp", reason="qemu.qmp is not installed")
from tests.image.slept import OTHER, Laptop, failed, outcome, rest
from tests.image.test_pulled import SECONDS
from tests.virtual_laptop.stick import Stick

pytestmark = pytest.mark.boot


@pytest.fixture(scope="module")
def laptop(image: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Laptop]:
    """One machine for all tests here, which go on from one another."""
    folder = tmp_path_factory.mktemp("sleep")
    one = Laptop(Stick(image, folder), folder)
    with one.guest:
        one.ready()
        yield one


def _anew(laptop: Laptop) -> None:
    """QEMU's clock wakes a machine when its alarm is due in the first sleep of a start alone: it
    ends all others at once."""
    laptop.shell.run("sync", 60)
    laptop.guest.tell("system_reset")
    laptop.ready()


def test_a_sound_machine_sleeps_and_wakes_three_times(laptop: Laptop, tmp_path: Path) -> None:
    """Nobody is accused by it, though two of its sleeps are ended at once; and it did sleep."""
    laptop.shell.run("livecheck sleep --times 3 --seconds 12 --yes --ticket S1", SECONDS)
    run = laptop.run_of("S1", tmp_path)
    assert outcome(run, "sleep.wakes") == ["passed"]
    assert set(outcome(run, "sleep.keeps-parts")) == {"passed"}
    assert failed(run, "sleep", "kernel", "usb", "storage", "pcie") == []
    woke = laptop.shell.run("dmesg | grep 'PM: suspend exit'", 60)
    assert len(re.findall(r"\] PM: suspend exit", woke)) == 3


def test_what_is_unplugged_in_its_sleep_is_gone_after_it(laptop: Laptop, tmp_path: Path) -> None:
    """Told at the port it was in, and of nothing else."""
    _anew(laptop)
    job = laptop.shell.begin("livecheck sleep --times 1 --seconds 40 --yes --ticket S2")
    laptop.until("suspended", 240)
    laptop.guest.tell("device_del", id="other")
    laptop.guest.until(job.over, SECONDS, "the end of the test")
    run = laptop.run_of("S2", tmp_path)
    assert outcome(run, "sleep.wakes") == ["passed"]
    (gone,) = failed(run, "sleep")
    assert gone.startswith("sleep.keeps-parts usb")
    assert OTHER not in "".join(str(part.serial) for part in run.inventory.parts)


def test_a_machine_that_does_not_wake_is_told_by_the_next_start(
    laptop: Laptop, tmp_path: Path
) -> None:
    """Its power goes while it sleeps, and nothing else tells of it."""
    _anew(laptop)
    laptop.shell.begin("livecheck sleep --times 3 --seconds 3000 --yes --ticket S3")
    laptop.until("suspended", 240)
    rest(5)
    laptop.guest.cut()
    again = Laptop(laptop.stick, tmp_path / "again")
    with again.guest:
        again.ready()
        again.shell.run("livecheck run --probes firmware --ticket S4", SECONDS)
        run = again.run_of("S4", tmp_path)
    assert failed(run, "sleep", "ended") == ["sleep.wakes machine"]
