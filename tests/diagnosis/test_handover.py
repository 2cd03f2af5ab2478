"""Before against after: what is signed off and what is not.

There is no public rule for this; the cases are those a careful shop means (common
practice, no source).
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck import knowledge
from livecheck.diagnosis.handover import BARS, HandOver, HandOverState, compare
from livecheck.records import (
    GoesBack,
    Inventory,
    NotTested,
    Outcome,
    Part,
    Place,
    ProbeRun,
    Reading,
    Run,
)

TABLES = knowledge.load()
SPARE = "serial:K2-771942"
LIFELONG = "storage.link-history"

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
    assert bool(whole.barred) is not signed


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
    assert [row.component for row in whole.barred] == [BAY.id, OLD.id]


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


def lifelong(*values: int) -> HandOver:
    """Run after run, what a drive counted in its life."""
    runs = [
        run(n + 1, OLD, msgspec.structs.replace(
            reading(OLD.id, "failed" if value else "passed", LIFELONG), value=value, unit="errors"))
        for n, value in enumerate(values)
    ]  # fmt: skip
    found = compare(runs, TABLES.checks)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("values", "signed"),
    [((63, 63), True), ((63, 64), False), ((63, 70, 70), True), ((0, 63), False)],
)
def test_a_count_of_a_whole_life_is_judged_by_its_increase(
    values: tuple[int, ...], signed: bool
) -> None:
    """ATA attribute 199 counts all the drive's life and is never set back (ACS, from memory)."""
    found = lifelong(*values)
    assert found.signed is signed
    assert ("63 errors in its life" in found.rows[0].held[0].says) is (values == (63, 63))


def test_a_part_of_the_shops_that_is_still_fitted_stands_in_the_way() -> None:
    """Until it is out again, or was sold with the repair."""
    spare = msgspec.structs.replace(NEW, identity=SPARE)
    before = run(1, OLD, reading(OLD.id, "failed"))
    with_spare = run(2, spare, reading(spare.id, "passed"), known_good=(SPARE,))
    last = run(3, spare, reading(spare.id, "passed"))
    for runs, spares in (((before, with_spare), ()), ((before, last), (SPARE,))):
        found = compare(runs, spares=spares)
        assert found is not None
        assert (found.signed, found.lent) == (False, (NEW.id,))
    for named in (SPARE, NEW.id):
        sold = msgspec.structs.replace(last, answers=(GoesBack(component=named, words="sold"),))
        found = compare([before, sold], spares=(SPARE,))
        assert found is not None and found.signed
    found = compare([before, with_spare, run(3, OLD, reading(OLD.id, "passed"))])
    assert found is not None and found.signed


def test_load_that_was_left_out_stands_in_the_way() -> None:
    left = ProbeRun(probe="heat-load", seconds=3.0, ended="stopped", says="skipped")
    found = compare([run(1, OLD), run(2, OLD, probes=(left,))])
    assert found is not None
    assert (found.signed, found.left_out) == (False, (left,))


def test_what_the_customer_declined_goes_back_with_his_words() -> None:
    before = run(1, OLD, reading(OLD.id, "failed"))
    told = (GoesBack(component=OLD.id, words="no money for it"),)
    found, whole = state(OLD.id, before, run(2, OLD, reading(OLD.id, "failed"), answers=told))
    assert found is HandOverState.DECLINED and whole.signed
    assert whole.rows[0].declined == "no money for it"
    found, _ = state(OLD.id, before, run(2, OLD, reading(OLD.id, "passed"), answers=told))
    assert found is HandOverState.REPAIRED


def test_there_is_nothing_to_compare() -> None:
    """One run, or the part's own runs in a machine of the shop's."""
    assert compare([]) is None
    assert compare(series("failed")) is None
    assert compare([*series("failed"), run(2, OLD, in_known_good_machine=True)]) is None


CELL = Part(id="battery:1", kind="battery", name="battery", place="bay:BAT0", identity="serial:1")


def with_cell(number: int, *parts: Part, **more: object) -> Run:
    inside = Inventory(parts=parts, places=(BAY, Place(id="bay:BAT0", kind="battery-bay", name="")))
    return msgspec.structs.replace(run(number, None), inventory=inside, **more)


def test_a_part_that_came_in_with_it_and_answers_no_more_stands_in_the_way() -> None:
    """A plug that was not put back on the board is the mender's own fault."""
    came = with_cell(1, CELL, OLD, readings=(reading(CELL.id, "passed", "power.battery-wear"),))
    kind, found = state(CELL.id, came, with_cell(2, OLD))
    assert (kind, found.signed) == (HandOverState.MISSING, False)
    assert state(CELL.id, came, with_cell(2, OLD, CELL))[1].signed
    goes = (GoesBack(component=CELL.id, words="goes without it"),)
    kind, found = state(CELL.id, came, with_cell(2, OLD, answers=goes))
    assert (kind, found.signed) == (HandOverState.DECLINED, True)


def test_what_was_moved_exchanged_or_only_plugged_in_is_not_missing() -> None:
    """A module without a number has another id in another place; a new one has a new number."""
    other = msgspec.structs.replace(CELL, id="battery@bay:BAT1", place="bay:BAT1", identity=None)
    new = msgspec.structs.replace(CELL, id="battery:2", identity="serial:2")
    outside = Place(id="usb:1", kind="usb-port", name="", external=True)
    stick = Part(id="usb-device@usb:1", kind="usb-device", name="stick", place="usb:1")
    for before, after in ((CELL, other), (CELL, new), (stick, OLD)):
        came, last = with_cell(1, before, OLD), with_cell(2, after, OLD)
        inventory = msgspec.structs.replace(came.inventory, places=(BAY, outside))
        found = compare([msgspec.structs.replace(came, inventory=inventory), last])
        assert found is not None and found.signed


def test_a_swollen_battery_goes_back_with_nobody() -> None:
    """Such a cell can catch fire (common practice, no source): whatever its owner says."""
    seen = reading(CELL.id, "failed", "intake.swollen")
    goes = (GoesBack(component=CELL.id, words="it still lasts"),)
    last = with_cell(2, CELL, readings=(seen,), answers=goes)
    found = compare([with_cell(1, CELL, readings=(seen,)), last], TABLES.checks)
    assert found is not None and not found.signed
    assert [(row.component, row.unsafe) for row in found.barred] == [(CELL.id, True)]


def test_a_complaint_that_was_seen_is_signed_off_once_it_is_told_to_be_gone() -> None:
    """Nobody tells it again in the last run of all: what was told last counts."""
    seen = run(1, OLD, reading("machine", "failed", "complaint.inside"))
    gone = run(2, OLD, reading("machine", "passed", "complaint.inside"))
    last = run(3, OLD, reading(OLD.id, "passed"))
    assert state("machine", seen, gone, last)[1].signed
    kind, found = state("machine", seen, msgspec.structs.replace(last, number=2))
    assert kind is HandOverState.OPEN and not found.signed
    assert "complaint=nowhere" in found.rows[0].held[0].says
    back = run(3, OLD, reading("machine", "failed", "complaint.inside"))
    assert not state("machine", seen, gone, back, msgspec.structs.replace(last, number=4))[1].signed


QUIET = "kernel.storage-medium"


@pytest.mark.parametrize(
    ("now", "signed"),
    [
        # One witness passes two of the questions that it could be asked about a drive.
        (reading(OLD.id, "passed", QUIET), True),
        (reading("machine", "passed", "kernel.thermal"), True),
        # No log was read, or it was read and something stands in it.
        (reading(OLD.id, "passed", "storage.health"), False),
        (reading(OLD.id, "failed", QUIET), False),
    ],
)
def test_a_silent_log_answers_what_the_log_once_said(now: Reading, signed: bool) -> None:
    gone = reading(OLD.id, "failed", "kernel.storage-host-bus")
    _, found = state(OLD.id, run(1, OLD, gone), run(2, OLD, now))
    assert found.signed is signed


def test_nothing_that_is_read_now_speaks_of_what_is_out_of_the_machine() -> None:
    """A log that is silent is silent of the drive in it, not of the one on the shelf."""
    failed = reading(OLD.id, "failed", QUIET)
    quiet = reading("machine", "passed", QUIET)
    kind, found = state(OLD.id, run(1, OLD, failed), run(2, NEW, quiet))
    assert kind is HandOverState.REPLACED and found.signed
    (held,) = next(row for row in found.rows if row.component == OLD.id).held
    assert held.now is None and held.says == "it is out of the machine"


def test_a_counter_of_all_answers_for_each() -> None:
    """The memory controller's counter names a module only while that one has errors."""
    served = msgspec.structs.replace(BAY, controller="chip")
    runs = [run(1, OLD, reading(OLD.id, "failed", "memory.corrected-errors")),
            run(2, OLD, reading("chip", "passed", "memory.corrected-errors"))]  # fmt: skip
    for served_by, wanted in ((served, HandOverState.REPAIRED), (BAY, HandOverState.OPEN)):
        inventory = Inventory(parts=(OLD,), places=(served_by,))
        changed = [msgspec.structs.replace(one, inventory=inventory) for one in runs]
        assert state(OLD.id, *changed)[0] is wanted


def test_what_took_a_place_and_failed_alike_is_no_repair() -> None:
    """The place is at fault, then; the part that came in with the machine is asked for."""
    old, new = reading(OLD.id, "failed"), reading(NEW.id, "failed")
    cured = run(3, NEW, reading(NEW.id, "passed"))
    assert state(OLD.id, run(1, OLD, old), run(2, NEW, new), cured)[0] is HandOverState.MISSING
    assert state(OLD.id, run(1, OLD, old), cured)[0] is HandOverState.REPLACED


def test_what_is_declined_is_what_would_be_mended() -> None:
    """A processor that is too hot is its cooling's: nobody declines a processor."""
    core = Part(id="processor:1", kind="processor", name="processor", place="socket")
    fan = Part(id="cooling@cooling", kind="cooling", name="cooling", place="cooling")
    hot = reading(core.id, "failed", "heat.temperature")
    runs = [run(n, OLD, hot, inventory=Inventory(parts=(core, fan))) for n in (1, 2)]
    found = compare(runs, TABLES.checks)
    assert found is not None
    assert [(row.component, row.mend) for row in found.barred] == [(core.id, fan.id)]
    words = (GoesBack(component=fan.id, words="as long as it runs"),)
    found = compare([runs[0], msgspec.structs.replace(runs[1], answers=words)], TABLES.checks)
    assert found is not None and found.signed
    assert [one.declined for one in found.declined] == ["as long as it runs"]


def test_what_was_declined_and_mended_after_all_is_not_told_as_declined() -> None:
    words = (GoesBack(component=OLD.id, words="no need"),)
    failed = run(1, OLD, reading(OLD.id, "failed"), answers=words)
    _, found = state(OLD.id, failed, run(2, OLD, reading(OLD.id, "passed")))
    assert [row.declined for row in found.rows] == [None]


def test_what_was_tried_by_hand_after_the_repair_counts() -> None:
    keys = "guided.keyboard"
    failed, passed = (run(n, OLD, reading(OLD.id, how, keys))
                      for n, how in ((1, "failed"), (2, "passed")))  # fmt: skip
    assert state(OLD.id, failed, passed, run(3, OLD))[0] is HandOverState.REPAIRED
    assert state(OLD.id, failed, run(2, OLD))[0] is HandOverState.OPEN
