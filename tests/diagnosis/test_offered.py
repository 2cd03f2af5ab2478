"""What is told beside the next step, for whoever cannot do it or did it for nothing.

What helped in tests/real_cases/ninth and tenth: a system put right in 17 threads, all power taken
away in three; neither takes a screw.
"""

from __future__ import annotations

from livecheck import knowledge
from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import Complaint, NextStep, Reading
from tests.diagnosis.laptop import CARD, PORT1, drive, laptop, reading, run

TABLES = knowledge.load()
DRIVE = "drive:INV-0001"
SILENT = reading("kernel.wireless", CARD, False)


def _told(
    *readings: Reading,
    complaint: Complaint = Complaint.PART_MISSING,
    cannot: tuple[str, ...] = (),
) -> list[NextStep]:
    seen = [run(1, laptop(drive(DRIVE, PORT1)), *readings, complaint=complaint)]
    found = locate("t", seen, TABLES, Resources(cannot=cannot))
    return [step for step in (found.next_step, *found.alternatives) if step is not None]


def test_the_system_stands_beside_trials_while_nothing_is_named() -> None:
    """With its chance and the care for data; what comes first stays first."""
    told = _told(SILENT)
    alone = _told(SILENT, cannot=(Action.REPAIR_SYSTEM,))
    assert told[0] == alone[0]
    step = next(one for one in told[1:] if one.action == Action.REPAIR_SYSTEM)
    assert step.outcomes[0].probability > 0.1
    assert "data" in step.cautions
    assert Action.REPAIR_SYSTEM not in [one.action for one in alone]


def test_a_silent_radio_is_left_without_power_once() -> None:
    """It costs minutes, though so little hangs; done for nothing it is not told again."""
    step = next(one for one in _told(SILENT) if one.action == Action.POWER_AWAY)
    assert step.minutes < 10
    assert "cell" in step.cautions
    for cannot in ((), (Action.POWER_AWAY,)):
        told = _told(*(() if not cannot else (SILENT,)), cannot=cannot)
        assert Action.POWER_AWAY not in [one.action for one in told]


def test_nothing_is_offered_to_be_put_right_where_nobody_complains() -> None:
    actions = [one.action for one in _told(SILENT, complaint=Complaint.INTAKE)]
    assert Action.REPAIR_SYSTEM not in actions


def test_no_system_is_put_right_over_a_drive_that_loses_data() -> None:
    """Nobody installs onto it (common practice, no source)."""
    bad = reading("storage.read-medium", DRIVE, False)
    told = _told(bad, complaint=Complaint.UNSTABLE)
    assert told and Action.REPAIR_SYSTEM not in [one.action for one in told]


def test_two_settings_of_one_kind_make_room() -> None:
    """Of trials that are the same start with the same words one is enough beside the first."""
    pads = [reading("kernel.device", at, False) for at in (CARD, DRIVE)]
    told = _told(*pads, complaint=Complaint.UNSTABLE)
    assert len({one.action for one in told}) == len(told) == 3
    assert told[0].action == Action.SETTING
