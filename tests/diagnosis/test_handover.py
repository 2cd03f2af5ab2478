"""Before against after: what is signed off and what is not.

There is no public rule for this; the cases are those a careful shop means (common
practice, no source).
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck.diagnosis.handover import BARS, HandOver, HandOverState, compare
from livecheck.records import Inventory, NotTested, Outcome, Part, Place, Reading, Run

OLD = Part(id="drive:OLD", kind="drive", name="old drive", place="ata:1")
NEW = Part(id="drive:NEW", kind="drive", name="new drive", place="ata:1")
BAY = Place(id="ata:1", kind="sata-port", name="bay 1")


def reading(at: str, outcome: str, check: str = "storage.medium-errors") -> Reading:
    return Reading(check=check, at=at, outcome=Outcome(outcome), says=f"{check} {outcome}")


def run(number: int, part: Part | None, *readings: Reading, **more: object) -> Run:
    parts = (part,) if part is not None else ()
    made = Run(number=number, started="", inventory=Inventory(parts=parts, places=(BAY,)),
               readings=readings)  # fmt: skip
    return msgspec.structs.replace(made, **more)


def state(of: str, *runs: Run) -> tuple[HandOverState, HandOver]:
    found = compare(runs)
    assert found is not None
    (row,) = [r for r in found.rows if r.component == of]
    assert found.signed is not any(r.state in BARS for r in found.rows)
    return row.state, found


def series(*outcomes: str | None) -> list[Run]:
    """One drive, one check, run after run; None: the check was not made."""
    return [run(n + 1, OLD, *([reading(OLD.id, o)] if o else [])) for n, o in enumerate(outcomes)]


@pytest.mark.parametrize(
    ("outcomes", "wanted", "signed"),
    [
        (("failed", "passed"), HandOverState.REPAIRED, True),
        (("failed", "failed"), HandOverState.STILL, False),
        (("failed", "passed", "failed"), HandOverState.CAME_BACK, False),
        (("failed", "passed", "failed", "passed"), HandOverState.REPAIRED, True),
        (("passed", "failed"), HandOverState.NEW, False),
        (("failed", None), HandOverState.OPEN, False),
        (("failed", "not judged"), HandOverState.OPEN, False),
        (("failed", "passed", None), HandOverState.OPEN, False),
        (("passed", "passed"), HandOverState.SOUND, True),
        (("passed", None), HandOverState.UNTESTED, True),
    ],
)
def test_one_part(outcomes: tuple[str | None, ...], wanted: HandOverState, signed: bool) -> None:
    """A fault has to be seen gone; one that came back is not signed off."""
    found, whole = state(OLD.id, *series(*outcomes))
    assert found is wanted and whole.signed is signed
    assert bool(whole.reasons) is not signed


def test_a_part_that_was_replaced() -> None:
    """Gone with its fault; the new one is judged by itself."""
    before = run(1, OLD, reading(OLD.id, "failed"))
    found, whole = state(OLD.id, before, run(2, NEW, reading(NEW.id, "passed")))
    assert found is HandOverState.REPLACED and whole.signed
    assert whole.rows[0].successor == NEW.id
    found, whole = state(NEW.id, before, run(2, NEW, reading(NEW.id, "failed")))
    assert found is HandOverState.NEW and not whole.signed


def test_a_part_that_was_taken_out() -> None:
    found, _ = state(OLD.id, run(1, OLD, reading(OLD.id, "failed")), run(2, None))
    assert found is HandOverState.REMOVED


def test_a_port_is_not_replaced_by_taking_the_drive_out() -> None:
    """A place stays with the board: its fault has to be seen gone."""
    before = run(1, OLD, reading(BAY.id, "failed", "storage.port-answers"))
    found, whole = state(BAY.id, before, run(2, None))
    assert found is HandOverState.OPEN and not whole.signed
    assert "bay 1" in whole.reasons[0]


def test_one_check_of_two_is_still_failing() -> None:
    """The worse of a component's checks counts."""
    before = run(1, OLD, reading(OLD.id, "failed"), reading(OLD.id, "failed", "storage.health"))
    now = run(2, OLD, reading(OLD.id, "passed"), reading(OLD.id, "failed", "storage.health"))
    found, whole = state(OLD.id, before, now)
    assert found is HandOverState.STILL
    assert [h.now for h in whole.rows[0].held] == [Outcome.FAILED, Outcome.PASSED]


def test_what_else_it_tells() -> None:
    """Soak, what was left out, and a run that was broken off."""
    missed = (NotTested(what="Lid switch", why="left out by the technician"),)
    now = run(2, OLD, reading(OLD.id, "passed"), reading("machine", "passed", "soak.endured"),
              soak_hours=4.0, not_tested=missed)  # fmt: skip
    found = compare([now, run(1, OLD, reading(OLD.id, "failed"))])
    assert found is not None and found.signed
    assert (found.first, found.last, found.soak_hours) == (1, 2, 4.0)
    assert found.soaked == "soak.endured passed" and found.missed == missed
    broken = compare([run(1, OLD), msgspec.structs.replace(now, finished=False)])
    assert broken is not None and not broken.signed


def test_there_is_nothing_to_compare() -> None:
    """One run, or the part's own runs in a machine of the shop's."""
    assert compare([]) is None
    assert compare(series("failed")) is None
    assert compare([*series("failed"), run(2, OLD, in_known_good_machine=True)]) is None
