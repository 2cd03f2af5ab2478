"""The end of a case: the run before the machine goes back, and what the repair proved."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck.case_index import recording
from livecheck.console import flow
from livecheck.console.desk import Desk
from livecheck.console.judged_case import JudgedCase
from livecheck.console.screens.pick import ChooseScreen, Item
from livecheck.console.steps import Step
from livecheck.console.workflows import cases
from livecheck.console.workflows.bench_tests import ask_guided, with_given
from livecheck.plan import Plan

SOAKS: Final[tuple[Item, ...]] = (
    ("0", "No soak: every probe once"),
    ("0.5", "Half an hour of load"),
    ("1", "1 hour of load"),
    ("2", "2 hours of load"),
    ("4", "4 hours of load"),
    ("12", "12 hours of load: over night"),
)
PROOFS: Final[tuple[Item, ...]] = (
    ("yes", "The machine is well now: it was this; the case is closed"),
    ("no", "The fault stayed: it was not this; the case stays open"),
)


async def hand_over(desk: Desk, plan: Plan) -> Step | None:
    """Guided checks first, while somebody is there; then every probe, and a soak."""
    given = await ask_guided(desk)
    if given is None:
        return None
    asks = "How long shall processor and memory be loaded?"
    hours = await desk.ask(ChooseScreen("hand-over", asks, SOAKS))
    if hours is None:
        return None
    last = msgspec.structs.replace(with_given(plan, given), hand_over=True, soak_hours=float(hours))
    return flow.start_run(last, desk.state)


async def outcome(desk: Desk, case: JudgedCase) -> Step | None:
    """Which component was mended, and whether that mended the machine."""
    offered = recording.choices(case.loaded, case.location, case.tables)
    items = [(choice.component, choice.name) for choice in offered]
    component = await desk.ask(ChooseScreen("outcome", "What was mended or replaced?", items))
    if component is None:
        return None
    proved = await desk.ask(ChooseScreen("outcome", "What did it prove?", PROOFS))
    if proved is None:
        return None
    return await cases.record_outcome(desk, case, component, proved == "yes")
