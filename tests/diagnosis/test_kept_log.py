"""What the installed system's own log kept, where the stick has looked since and saw nothing.

Public threads whose lines came from such logs: of 43 that a setting cured not one was told of it
(tests/real_cases, ``--kept``).
"""

from __future__ import annotations

import msgspec

from livecheck import knowledge
from livecheck.diagnosis import locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Complaint, Location, Reading, SettingPutRight, Side
from tests.diagnosis.laptop import PORT1, PORT2, drive, laptop, reading, run

TABLES = knowledge.load()
DRIVE, OTHER = "drive:INV-0001", "drive:INV-0002"
BOTH = laptop(drive(DRIVE, PORT1), drive(OTHER, PORT2))
SLOW = reading("history.storage-timeout", DRIVE, False)
QUIET = reading("storage.health", DRIVE, True)


def _located(kept: tuple[Reading, ...], *seen: Reading, told: bool = False) -> Location:
    logged = msgspec.structs.replace(run(1, BOTH, *kept, complaint=Complaint.UNSTABLE), inside=True)
    answers = (SettingPutRight(component=DRIVE),) if told else ()
    look = run(2, BOTH, *seen, complaint=Complaint.UNSTABLE, answers=answers)
    return locate("t", [logged, look], TABLES)


def _settings(found: Location) -> list[str]:
    steps = (found.next_step, *found.alternatives)
    return [one.target for one in steps if one is not None and one.action == Action.SETTING]


def test_a_setting_is_told_though_the_stick_saw_nothing() -> None:
    """In that system, and until it is told to be put right."""
    found = _located((SLOW,), QUIET)
    assert _settings(found) == [DRIVE]
    assert found.next_step is not None
    assert found.next_step.why.startswith(TABLES.say("setting.kept", why=""))
    assert 0.0 < found.next_step.outcomes[0].probability < 1.0
    assert _settings(_located((SLOW,), QUIET, told=True)) == []


def test_what_fails_now_comes_before_what_was_kept() -> None:
    assert _settings(_located((SLOW,), reading("memory.words", "machine", False))) == []


def test_the_system_is_not_named_on_its_own_log_alone() -> None:
    """Damage on the way of two drives: their controller, whatever a driver may write."""
    kept = [
        reading(check, at, False)
        for at in (DRIVE, OTHER)
        for check in ("history.storage-link", "history.storage-host-bus")
    ]
    found = _located(tuple(kept), QUIET)
    assert found.side is Side.UNDETERMINED
