"""What comes next on the console, decided without a screen, a file or a process."""

from __future__ import annotations

import msgspec
import pytest

from livecheck.casefile import Loaded
from livecheck.console import events, steps, views
from livecheck.console.answers import ResumeAnswers, RunOptions, Way
from livecheck.console.events import Task
from livecheck.console.flow import State, decide, plan_of
from livecheck.console.judged_case import JudgedCase
from livecheck.console.replies import Finished, Known, Looked, Pickable, Trouble
from livecheck.console.requests import SaveWorksheet
from livecheck.diagnosis.steps.actions import SLEEP, STARTS
from livecheck.diagnosis.worksheet_table import Filled
from livecheck.plan import FULL, Plan, planned_probes
from livecheck.records import Complaint, Machine, NextStep, PluggedIn, ToldLine
from tests import factories

KNOWN = Known(
    case="2026-03-01-T-1", ticket="T-1", complaint=Complaint.SLOW, runs=1, number=2,
    same_machine=True, cut_off=False, stopped=False, changes=(), damaged=(),
    cannot=("no spare: drive",),
    lasted={"memory": 60.0}, lasted_depth="quick",
    told=(ToldLine(about="after", words="a liquid"),),
)  # fmt: skip
LOOKED = Looked(
    machine=Machine(), devices=0, parts=0, shop="/media/shop/livecheck-cases", as_root=True,
    places=(), numbered=(), unnumbered=(), treated=(), kinds=(),
    seeming=(Pickable("jack:AC", "Power jack"),), known=KNOWN,
)  # fmt: skip
STATE = State(looked=LOOKED, ticket="T-9", complaint=Complaint.SLOW)


def _resumed(way: Way, answers: ResumeAnswers | None = None) -> events.Resumed:
    return events.Resumed(KNOWN, answers or ResumeAnswers(cannot=KNOWN.cannot), way)


def test_a_machine_that_was_here_is_asked_about_unless_somebody_is_at_something_else() -> None:
    asked = decide(events.Surveyed(looked=LOOKED, busy=False), STATE)
    assert asked == steps.AskResume(LOOKED, KNOWN)
    assert decide(events.Surveyed(looked=LOOKED, busy=True), STATE) is None
    new = msgspec.structs.replace(LOOKED, known=None)
    assert decide(events.Surveyed(looked=new, busy=False), STATE) is None


def _judged(action: str, minutes: float) -> JudgedCase:
    """A case whose next step is this one."""
    proposed = NextStep(action=action, target="machine", minutes=minutes, why="")
    found = msgspec.structs.replace(factories.location(), next_step=proposed)
    loaded = Loaded(factories.case(), factories.three_runs(), ())
    return JudgedCase(loaded=loaded, location=found, tables=factories.knowledge(), report="")


def test_what_is_proposed_begins_at_one_key() -> None:
    """The program does itself what it can; what takes hands ends in a new run."""

    def begun(action: str) -> object:
        return decide(events.TaskWanted(Task.DO_NOW, _judged(action, 60.0)), STATE)

    soak = begun("longer soak")
    assert isinstance(soak, steps.StartRun)
    assert soak.plan.soak_hours == 1.0
    assert "soak" in {probe.name for probe in planned_probes(soak.plan)}
    deeper = begun("deeper probe")
    assert isinstance(deeper, steps.StartRun)
    assert deeper.plan.depth == FULL
    by_hand = begun("reseat")
    assert isinstance(by_hand, steps.Begin)
    assert by_hand.task is Task.START_OVER


def test_what_the_machine_does_by_itself_begins_at_one_key() -> None:
    """Sleep, and starts counted, though its complaint has a worksheet."""
    asked = _judged("external measurement", 3.0)
    case = msgspec.structs.replace(asked.loaded.case, complaint=Complaint.NO_POWER)
    for checks, task in (((SLEEP,), Task.SLEEP), (STARTS, Task.STARTS)):
        proposed = asked.location.next_step
        assert proposed is not None
        step = msgspec.structs.replace(proposed, checks=checks)
        found = msgspec.structs.replace(asked.location, next_step=step)
        loaded = Loaded(case, asked.loaded.runs, ())
        judged = JudgedCase(loaded=loaded, location=found, tables=asked.tables, report="")
        begun = decide(events.TaskWanted(Task.DO_NOW, judged), STATE)
        assert isinstance(begun, steps.Begin) and begun.task is task


def test_a_look_by_eye_is_asked_for_by_the_guided_checks() -> None:
    """A wrong picture is seen on a machine that starts: no worksheet, and no new run either."""
    seen = _judged("external measurement", 3.0)
    loaded = Loaded(
        msgspec.structs.replace(seen.loaded.case, complaint=Complaint.WRONG_PICTURE),
        seen.loaded.runs, (),
    )  # fmt: skip
    wrong = JudgedCase(loaded=loaded, location=seen.location, tables=seen.tables, report="")
    begun = decide(events.TaskWanted(Task.DO_NOW, wrong), STATE)
    assert isinstance(begun, steps.Begin) and begun.task is Task.GUIDED


def test_a_run_goes_by_the_first_screen_and_the_options() -> None:
    state = msgspec.structs.replace(STATE, options=RunOptions(depth=FULL, probes=("memory",)))
    step = decide(events.RunWanted(), state)
    plan = Plan(ticket="T-9", complaint=Complaint.SLOW, depth=FULL, probes=("memory",))
    # The last run was quick: what its probes took says nothing of this one.
    assert step == steps.StartRun(plan, {})
    assert decide(events.RunWanted(), STATE) == steps.StartRun(
        Plan(ticket="T-9", complaint=Complaint.SLOW), {"memory": 60.0}
    )


def test_no_run_starts_before_it_is_known_whether_a_case_waits() -> None:
    early = msgspec.structs.replace(STATE, surveyed=False)
    plan = Plan(ticket="T-9", complaint=Complaint.SLOW)
    assert decide(events.RunWanted(), early) == steps.Survey(plan, run_wanted=True)
    asked = decide(events.Surveyed(looked=LOOKED, busy=False, run_wanted=True), STATE)
    assert asked == steps.AskResume(LOOKED, KNOWN)
    new = msgspec.structs.replace(LOOKED, known=None)
    fresh = msgspec.structs.replace(STATE, looked=new)
    begun = decide(events.Surveyed(looked=new, busy=False, run_wanted=True), fresh)
    assert begun == steps.StartRun(plan, {})


@pytest.mark.parametrize("complaint", [Complaint.NO_POWER, Complaint.NO_PICTURE])
def test_a_machine_that_does_not_start_is_measured(complaint: Complaint) -> None:
    state = msgspec.structs.replace(STATE, complaint=complaint)
    measure = decide(events.RunWanted(), state)
    assert measure == steps.Measure(Plan(ticket="T-9", complaint=complaint))
    filled = Filled(answers={"idle": 0.2})
    done = decide(events.Measured(measure.plan, filled), state)
    assert done == steps.Work(SaveWorksheet(measure.plan, filled))


def test_a_machine_that_does_not_charge_is_asked_for_what_is_plugged_in() -> None:
    state = msgspec.structs.replace(STATE, complaint=Complaint.NOT_CHARGING)
    ask = decide(events.RunWanted(), state)
    assert isinstance(ask, steps.AskPlaces)
    assert ask.places == LOOKED.seeming
    run = decide(events.PlacesTicked(ask.plan, ("jack:AC",)), state)
    assert isinstance(run, steps.StartRun)
    assert run.plan.answers == (PluggedIn(place="jack:AC"),)


def test_a_case_goes_on_with_what_was_told() -> None:
    told = ResumeAnswers(
        reseated=("slot:x",), known_good=("serial:S1",), in_known_good_machine=True
    )
    run = decide(_resumed(Way.RUN, told), STATE)
    assert isinstance(run, steps.StartRun)
    plan = run.plan
    assert (plan.case, plan.ticket, plan.complaint) == (KNOWN.case, "T-1", Complaint.SLOW)
    assert (plan.reseated, plan.known_good, plan.in_known_good_machine) == (
        ("slot:x",),
        ("serial:S1",),
        True,
    )
    # What was ruled out and is not any more can be done now.
    assert plan.can == ("no spare: drive",)


def test_other_ways_on_from_a_machine_that_was_here() -> None:
    assert decide(_resumed(Way.OTHER), STATE) == steps.NewJob()
    opened = decide(_resumed(Way.OPEN), STATE)
    assert opened == steps.OpenCase("/media/shop/livecheck-cases/2026-03-01-T-1")
    measure = decide(_resumed(Way.MEASURE), STATE)
    assert isinstance(measure, steps.Measure) and measure.told == KNOWN.told


def test_work_ends_in_its_case_or_in_a_message() -> None:
    plan = Plan(ticket="T-9")
    done = decide(events.Worked(Finished(case_folder="/c/1"), plan), STATE)
    assert done == steps.OpenCase("/c/1")
    lost = decide(events.Worked(Trouble(says="full", kept="/tmp/x"), plan), STATE)
    assert lost == steps.Fail("full", plan, "/tmp/x")


def test_a_task_belongs_to_the_machines_case() -> None:
    begun = decide(events.TaskWanted(Task.FLEX), STATE)
    plan = Plan(case=KNOWN.case, ticket="T-1", complaint=Complaint.SLOW)
    assert begun == steps.Begin(Task.FLEX, plan)
    new = msgspec.structs.replace(STATE, looked=None)
    assert plan_of(None, new) == Plan(ticket="T-9", complaint=Complaint.SLOW)


def test_what_is_only_to_be_looked_at_is_shown() -> None:
    notice = views.Notice("title", ("words",))
    assert decide(notice, STATE) == notice
