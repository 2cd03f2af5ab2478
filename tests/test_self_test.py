"""A drive's test of itself: only on request, with the drive's own duration, to its end.

Outside sources: smartctl's JSON as published for recorded drives (the field names and the
values of the first state below are those of a recorded 6 Gb/s flash drive; smartctl 7.x), the
ATA self-test execution status byte (ACS: the high half says how it ended, 15 while it runs,
the low half the tens of percent left), NVM Express base specification log 06h, smartctl(8).
"""

from __future__ import annotations

import ast
import json
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

import livecheck
from livecheck import drive_test, knowledge
from livecheck.commands import self_test as command
from livecheck.host import CommandResult
from livecheck.probes.drive import self_test, smart
from livecheck.records import Outcome, Part
from tests.inventory.fake_host import FakeHost

PACKAGE = Path(livecheck.__file__).parent
DRIVE = Part(id="drive:S", kind="drive", name="a drive", place="ata:x:1")


def _ata(value: int, log: Sequence[tuple[int, int]] = ()) -> dict[str, Any]:
    status: dict[str, Any] = {"value": value, "string": "as recorded"}
    found: dict[str, Any] = {
        "smartctl": {"exit_status": 0},
        "ata_smart_data": {
            "offline_data_collection": {"status": {"value": 0, "string": "was never started"}},
            "self_test": {"status": status, "polling_minutes": {"short": 2, "extended": 100}},
            "capabilities": {"values": [83, 3], "self_tests_supported": True},
        },
    }
    if log:
        table = [
            {"type": {"value": kind}, "status": {"value": code}, "lifetime_hours": 100}
            for kind, code in log
        ]
        found["ata_smart_self_test_log"] = {"standard": {"revision": 1, "table": table}}
    return found


def _nvme(current: int, results: Sequence[tuple[int, int]], done: int = 0) -> dict[str, Any]:
    log: dict[str, Any] = {
        "current_self_test_operation": {"value": current, "string": ""},
        "table": [
            {"self_test_code": {"value": 1, "string": "Short"},
             "self_test_result": {"value": code, "string": ""}, "power_on_hours": hours}
            for code, hours in results
        ],
    }  # fmt: skip
    if current:
        log["current_self_test_completion_percent"] = done
    return {"smartctl": {"exit_status": 0}, "nvme_self_test_log": log}


class _Drive(FakeHost):
    """Answers smartctl from a list of states; the last one stays."""

    def __init__(self, states: Sequence[dict[str, Any]], begin_status: int = 0) -> None:
        super().__init__()
        self.states = list(states)
        self.begin_status = begin_status
        self.asked: list[tuple[str, ...]] = []
        self.now = 0.0
        self.on_wait: Callable[[], None] = lambda: None

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        self.asked.append(tuple(argv))
        if argv[0] == "nvme":
            return CommandResult(0, b'{"edstt": 35}', b"")
        if "-t" in argv or "-X" in argv:
            return CommandResult(self.begin_status, b"{}", b"")
        state = self.states.pop(0) if len(self.states) > 1 else self.states[0]
        return CommandResult(0, json.dumps(state).encode(), b"")

    def clock(self) -> float:
        return self.now

    def wait(self, seconds: float) -> None:
        self.now += seconds
        self.on_wait()


@pytest.mark.parametrize(
    ("value", "running", "left", "result"),
    [(0x00, False, None, 0), (0xF9, True, 90, None), (0x71, False, None, 7),
     (0x25, False, None, 2), (0xF0, True, 0, None)],
)  # fmt: skip
def test_the_status_byte_is_taken_apart(
    value: int, running: bool, left: int | None, result: int | None
) -> None:
    """High half: how it ended; 15: it runs, and the low half times ten is left."""
    state = self_test.from_json(_ata(value))
    assert (state.running, state.percent_left, state.result) == (running, left, result)
    assert state.minutes == {"short": 2, "long": 100}


def test_durations_are_the_drives_own() -> None:
    """ATA drives state minutes; NVMe controllers state the long one (EDSTT)."""
    assert self_test.ask(_Drive([_ata(0)]), "sda").minutes == {"short": 2, "long": 100}
    assert self_test.ask(_Drive([_nvme(0, [])]), "nvme0n1").minutes == {"short": 2, "long": 35}
    state = self_test.from_json(_ata(0))
    words, *heed = drive_test.explained(DRIVE, state, "long", knowledge.load(), "Ctrl+C")
    assert "The drive states 1\u00a0h 40\u00a0min for it." in words
    assert len(heed) == len(drive_test.CAUTIONS)


@pytest.mark.parametrize(
    ("value", "outcome"),
    [(0x00, Outcome.PASSED), (0x10, Outcome.NOT_JUDGED), (0x20, Outcome.NOT_JUDGED),
     (0x30, Outcome.NOT_JUDGED), *((code << 4, Outcome.FAILED) for code in range(4, 9))],
)  # fmt: skip
def test_ata_results(value: int, outcome: Outcome) -> None:
    """ACS: 4 to 8 are failures; 1 to 3 say nothing of the drive."""
    before = self_test.from_json(_ata(0))
    assert self_test.judge(before, self_test.from_json(_ata(value)), "short").outcome is outcome


@pytest.mark.parametrize(
    ("code", "outcome"),
    [(0, Outcome.PASSED), (1, Outcome.NOT_JUDGED), (2, Outcome.NOT_JUDGED),
     (5, Outcome.NOT_JUDGED), (6, Outcome.FAILED), (7, Outcome.FAILED), (9, Outcome.NOT_JUDGED)],
)  # fmt: skip
def test_nvme_results(code: int, outcome: Outcome) -> None:
    """NVM Express: 6 and 7 are failed segments; an old entry is no result of this test."""
    before = self_test.from_json(_nvme(0, [(0, 50)]))
    after = self_test.from_json(_nvme(0, [(code, 99), (0, 50)]))
    assert self_test.judge(before, after, "short").outcome is outcome
    assert self_test.judge(before, before, "short").outcome is Outcome.NOT_JUDGED


def test_a_test_is_followed_to_its_end(capsys: pytest.CaptureFixture[str]) -> None:
    """Begun once, asked until it ends, progress told, judged by its end."""
    drive = _Drive([_ata(0xF9), _ata(0xF4), _ata(0x74)])
    before = self_test.from_json(_ata(0))
    found = command.follow(drive, "sg0", before, "short")
    assert found.outcome is Outcome.FAILED
    assert [argv for argv in drive.asked if "-t" in argv] == [
        ("smartctl", "-j", "-t", "short", "/dev/sg0")
    ]
    assert "90 % left" in capsys.readouterr().err


def test_ctrl_c_breaks_the_test_off() -> None:
    """The drive is told to stop (smartctl -X), and the reading says why there is none."""
    drive = _Drive([_ata(0xF9)])

    def interrupt() -> None:
        raise KeyboardInterrupt

    drive.on_wait = interrupt
    found = command.follow(drive, "sg0", self_test.from_json(_ata(0)), "long")
    assert drive.asked[-1] == ("smartctl", "-j", "-X", "/dev/sg0")
    assert found.outcome is Outcome.NOT_JUDGED
    assert "broken off" in (found.why_not or "")


def test_nobody_waits_for_ever() -> None:
    """A test that still runs at three times its stated duration is left to the drive."""
    drive = _Drive([_ata(0xF9)])
    found = command.follow(drive, "sg0", self_test.from_json(_ata(0)), "short")
    assert found.outcome is Outcome.NOT_JUDGED
    assert drive.now == pytest.approx(3 * 2 * 60, rel=0.05)


def test_a_refusal_is_told() -> None:
    """smartctl's exit bit 2: the drive refused the command."""
    with pytest.raises(drive_test.NotPossible, match="did not begin"):
        command.follow(_Drive([_ata(0)], begin_status=4), "sda", self_test.SelfTestState(), "short")
    # Bits 3 and up speak of health; the test runs all the same.
    assert self_test.begin(_Drive([_ata(0)], begin_status=64 | 8), "sda", "short") is None


def test_smartctl_knows_these_options() -> None:
    """The installed smartctl takes the options that begin and break off."""
    done = subprocess.run(["smartctl", "-h"], capture_output=True, text=True, check=False)
    text = " ".join(done.stdout.split())
    assert "-t TEST, --test=TEST" in text
    assert "short, long" in text
    assert "-X, --abort" in text


@pytest.mark.parametrize("words", [["-t", "short"], ["-X"], ["-t", "long"], ["-s", "on"]])
def test_probes_cannot_begin_one(words: list[str]) -> None:
    """The door all probes use refuses what begins a test or changes a setting."""
    with pytest.raises(smart.Refused):
        smart.check_reading(["smartctl", *words, "/dev/sda"])


def test_only_the_command_comes_here() -> None:
    """No other module of the package uses the one that begins tests."""
    users = set()
    for path in PACKAGE.rglob("*.py"):
        tree = ast.parse(path.read_text("utf-8"))
        names = {
            f"{node.module}.{alias.name}"
            for node in ast.walk(tree)
            if isinstance(node, ast.ImportFrom)
            for alias in node.names
        }
        if {"livecheck.probes.drive.self_test"} & names or any(
            name.startswith("livecheck.probes.drive.self_test.") for name in names
        ):
            users.add(path.relative_to(PACKAGE).as_posix())
    assert users == {"drive_test.py"}


def test_it_asks_or_says_why_not(tmp_path: Path) -> None:
    """Without a terminal and without --yes nothing begins; an unknown drive is named."""
    words = [sys.executable, "-m", "livecheck", "self-test", "sdzz", "--shop", str(tmp_path)]
    asked = subprocess.run(
        words, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )
    assert asked.returncode == 2
    assert "--yes" in asked.stderr
    unknown = subprocess.run(
        [*words, "--yes"], stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
        env={**os.environ, "LC_ALL": "C"},
    )  # fmt: skip
    assert unknown.returncode == 3
    assert "sdzz is no drive of this machine" in unknown.stderr
