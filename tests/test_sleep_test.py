"""Sleeping and waking by the clock: what refuses, what wakes, what is gone afterwards.

Outside sources: rtcwake(8), Linux Documentation/admin-guide/pm/sleep-states.rst (mem_sleep),
and clock_gettime(2): CLOCK_MONOTONIC stands still while a system is suspended.
"""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from livecheck import inventory, knowledge, sleep_test
from livecheck.casefile import Shop
from livecheck.cli import main
from livecheck.diagnosis import locate
from livecheck.host import CommandResult, Facts, KernelMessage
from livecheck.plan import Plan, SleepAsked
from livecheck.recorder import aftermath, lines, openings
from livecheck.recorder.ending import ASLEEP
from livecheck.records import Complaint, Outcome, Reading, Run
from livecheck.sleep_run import sleep_and_save
from tests.testbeds import laptops
from tests.testbeds.bed import Bed, BedHost

WIRELESS = "/0000:01:00.0"
STATES = {
    "/sys/power/state": "freeze mem disk",
    "/sys/power/mem_sleep": "s2idle [deep]",
    "/sys/class/rtc/rtc0/wakealarm": "",
}


class Sleeper(BedHost):
    """A laptop that sleeps; from a sleep named in ``loses`` it wakes without its wireless card."""

    def __init__(self, bed: Bed, loses: Sequence[int] = (), refuses: str = "") -> None:
        super().__init__(dataclasses.replace(bed, extra={**bed.extra, **STATES}))
        self._whole = self._shown = bed
        self._loses, self._refuses = loses, refuses
        self._calendar = datetime(2026, 3, 6, 12, tzinfo=UTC)
        self._ticks = 100.0
        self._log: tuple[KernelMessage, ...] = ()
        self.naps = 0

    def facts(self) -> Facts:
        return Facts("Linux 6.12", "x86_64", True, self._calendar.isoformat())

    def clock(self) -> float:
        return self._ticks

    def wait(self, seconds: float) -> None:
        self._ticks += seconds
        self._calendar += timedelta(seconds=seconds)

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        return self._log

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        if argv[0] != "rtcwake":
            return super().command(argv, deadline)
        self.naps += 1
        if self._refuses:
            return CommandResult(1, b"", self._refuses.encode())
        self._calendar += timedelta(seconds=int(argv[-1]))
        self._ticks += 0.3
        if self.naps in self._loses:
            nodes = tuple(n for n in self._whole.nodes if WIRELESS not in n.path)
            super().__init__(dataclasses.replace(self._whole, nodes=nodes, extra={
                **self._whole.extra, **STATES}))  # fmt: skip
            text = "ath10k_pci 0000:01:00.0: Unable to change power state from D3cold to D0"
            self._log = (*self._log, KernelMessage(self._ticks, 3, text))
        return CommandResult(0, b"", b"")


def _slept(host: Sleeper, times: int = 2) -> dict[str, Reading]:
    before = inventory.take(host)
    naps = [sleep_test.nap(host, before, 20) for _ in range(times)]
    return {f"{r.check} {r.at}": r for r in sleep_test.readings(before, naps)}


def test_a_sound_machine_wakes_and_keeps_its_parts() -> None:
    """As often as it is asked; every part is cleared."""
    found = _slept(Sleeper(laptops.ahci()))
    assert found["sleep.wakes machine"].outcome is Outcome.PASSED
    assert {reading.outcome for reading in found.values()} == {Outcome.PASSED}
    assert any(name.startswith("sleep.keeps-parts drive:") for name in found)


def test_a_part_that_is_gone_after_sleep_is_told_at_its_place() -> None:
    """With what the kernel wrote of it meanwhile; the others stay cleared."""
    found = _slept(Sleeper(laptops.ahci(), loses=[2]))
    gone = found["sleep.keeps-parts slot:0000:00:1c.0"]
    assert (gone.outcome, gone.value) == (Outcome.FAILED, 1)
    assert "gone after 1 of 2" in gone.says
    assert "D3cold" in gone.details[0]
    failed = [name for name, reading in found.items() if reading.outcome is Outcome.FAILED]
    assert failed == ["sleep.keeps-parts slot:0000:00:1c.0"]


def test_a_machine_that_refuses_to_sleep_says_why() -> None:
    """The kernel's own word, through rtcwake."""
    found = _slept(Sleeper(laptops.ahci(), refuses="rtcwake: write error"))
    assert found["sleep.wakes machine"].outcome is Outcome.FAILED
    assert "0 of 2 times: rtcwake: write error" in found["sleep.wakes machine"].says


def test_a_machine_that_comes_back_at_once_did_not_sleep() -> None:
    """The calendar went on no further than the clock that stands still in sleep."""

    class Awake(Sleeper):
        def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
            return CommandResult(0, b"", b"")

    found = _slept(Awake(laptops.ahci()))
    assert "came back at once" in found["sleep.wakes machine"].says


def test_what_wakes_it_at_once_is_no_fault_of_its_waking() -> None:
    """A mouse, a network, an emulator's timer: nothing refused, so nobody is accused."""

    class Light(Sleeper):
        """Only its first sleep lasts."""

        def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
            self.tries = getattr(self, "tries", 0) + 1
            if self.tries > self.lasting:
                return CommandResult(0, b"", b"")
            return super().command(argv, deadline)

        lasting = 1

    class Lighter(Light):
        lasting = 0

    assert _slept(Light(laptops.ahci()))["sleep.wakes machine"].outcome is Outcome.PASSED
    assert _slept(Lighter(laptops.ahci()))["sleep.wakes machine"].outcome is Outcome.NOT_JUDGED


@pytest.mark.parametrize(
    ("lost", "words"),
    [("/sys/power/state", "no sleep"), ("/sys/class/rtc/rtc0/wakealarm", "cannot wake it")],
)
def test_what_cannot_be_done_is_said(lost: str, words: str) -> None:
    """No sleep, or no clock that wakes: then nothing is begun."""
    bed = laptops.ahci()
    extra = {name: text for name, text in STATES.items() if name != lost}
    host = Sleeper(bed)
    BedHost.__init__(host, dataclasses.replace(bed, extra={**bed.extra, **extra}))
    with pytest.raises(sleep_test.CannotSleep, match=words):
        sleep_test.kind(host)


def test_the_way_it_sleeps_is_told_before() -> None:
    """deep is S3, s2idle stays on (sleep-states.rst)."""
    how = sleep_test.kind(Sleeper(laptops.ahci()))
    told = " ".join(sleep_test.explained(3, 20, how, knowledge.load()))
    assert "3 time(s) (deep)" in told
    assert "power button" in told


def test_a_card_lost_in_sleep_accuses_card_and_slot_and_nobody_surely() -> None:
    """One sleep tells that it was lost, not by whom."""
    host = Sleeper(laptops.ahci(), loses=[1])
    before = inventory.take(host)
    readings = sleep_test.readings(before, [sleep_test.nap(host, before, 20)])
    run = Run(number=1, started="2026-03-06T12:00:00Z", complaint=Complaint.PART_MISSING,
              inventory=inventory.take(host), readings=readings)  # fmt: skip
    found = locate("c", [run], knowledge.load())
    assert found.probability < 0.9
    assert any("0000:00:1c.0" in one.component for one in found.candidates[:3])


def test_that_it_sleeps_stands_on_the_drive_before_it_does(tmp_path: Path) -> None:
    """Else nothing tells the next start of a machine that did not wake; on a busy machine, too."""
    noted: list[bool] = []

    class Slow(Sleeper):
        def wait(self, seconds: float) -> None:
            time.sleep(0.1)
            super().wait(seconds)

        def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
            if argv[0] == "rtcwake":
                noted.append(openings.at_step(shop.cases_folder, "b1", ASLEEP))
            return super().command(argv, deadline)

    bed = laptops.ahci()
    bed = dataclasses.replace(bed, extra={**bed.extra, aftermath.BOOT_ID: "b1"})
    host, shop = Slow(bed), Shop(tmp_path)
    saved = sleep_and_save(host, shop, Plan(ticket="S1"), SleepAsked(times=2))
    assert noted == [True, True]
    assert not openings.at_step(shop.cases_folder, "b1", ASLEEP)
    assert (Path(saved.run_file).parent / lines.FILE).exists()


def test_nobody_is_put_to_sleep_unasked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without a terminal to ask at, --yes must say so."""
    assert main(["sleep", "--shop", str(tmp_path)]) == 2
    assert "--yes" in capsys.readouterr().err
    assert main(["sleep", "--times", "0", "--yes", "--shop", str(tmp_path)]) == 2
