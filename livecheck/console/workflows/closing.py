"""The end of a case: the run before the machine goes back, and what the repair proved."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck.case_index import recording
from livecheck.console import flow
from livecheck.console.desk import Desk
from livecheck.console.judged_case import JudgedCase
from livecheck.console.screens.pick import ChooseScreen, Item, PickScreen
from livecheck.console.screens.words import WordsScreen
from livecheck.console.steps import Step
from livecheck.console.workflows import cases
from livecheck.console.workflows.bench_tests import ask_guided, with_given
from livecheck.diagnosis.handover import lent
from livecheck.diagnosis.handover_parts import left_behind
from livecheck.plan import Plan
from livecheck.records import Answer, GoesBack, Outcome
from livecheck.wording import text

SOAKS: Final = ("0", "0.5", "1", "2", "4", "12")
"""Hours of load."""
PROOFS: Final = ("yes", "no")


UNMENDED: Final = "unmended"
DECLINED: Final = "declined:"
STAYS: Final = "stays:"
SOLD: Final = "sold with the repair"
"""In the record, whatever language the console speaks."""


async def hand_over(desk: Desk, plan: Plan, case: JudgedCase | None) -> Step | None:
    """Guided checks first, while somebody is there; then every probe, and a soak."""
    told = await _as_it_is(desk, case) if case is not None else ()
    given = await ask_guided(desk, plan.complaint) if told is not None else None
    if given is None or told is None:
        return None
    soaks = [(hours, text(f"soak.{hours.replace('.', '-')}")) for hours in SOAKS]
    hours = await desk.ask(ChooseScreen(text("where.hand-over"), text("ask.soak"), soaks))
    if hours is None:
        return None
    last = msgspec.structs.replace(
        with_given(plan, given), hand_over=True, soak_hours=float(hours), answers=told
    )
    return flow.start_run(last, desk.state)


def going_back(case: JudgedCase) -> list[Item]:
    """What may go back as it is: what failed in the last run, what is not in it any more, and
    the shop's own parts."""
    runs, names = case.loaded.runs, case.names
    last = [run for run in runs if not run.in_known_good_machine][-1:]
    checks = case.tables.checks
    unsafe = {name for name, check in checks.items() if check.unsafe}
    failed = [
        r.at for run in last for r in run.readings
        if r.outcome is Outcome.FAILED and r.check not in unsafe
    ]  # fmt: skip
    open_still = dict.fromkeys((*failed, *left_behind(runs)))
    fitted = lent(runs, case.loaded.case.spares) if last else ()
    return [
        *((f"{DECLINED}{at}", text("ask.declined", name=names.of(at).label)) for at in open_still),
        *((f"{STAYS}{part}", text("ask.sold", name=names.of(part).label)) for part in fitted),
    ]


async def _as_it_is(desk: Desk, case: JudgedCase) -> tuple[Answer, ...] | None:
    """What was ticked of it, with the customer's words; None: left."""
    items = going_back(case)
    ticked: tuple[str, ...] | None = None
    if items:
        ticked = await desk.ask(
            PickScreen(text("where.hand-over"), text("ask.as-it-is"), items, ())
        )
    ticked = ticked or ()
    told: list[Answer] = [GoesBack(component=one.removeprefix(STAYS), words=SOLD) for one in ticked
                          if one.startswith(STAYS)]  # fmt: skip
    for one in ticked:
        if one.startswith(DECLINED):
            label = dict(items)[one]
            asks = text("ask.customers-words", what=label)
            words = await desk.ask(WordsScreen(text("where.hand-over"), asks))
            if words is None:
                return None
            told.append(GoesBack(component=one.removeprefix(DECLINED), words=words))
    return tuple(told)


async def outcome(desk: Desk, case: JudgedCase) -> Step | None:
    """Which component was mended, and whether that mended the machine."""
    offered = recording.choices(case.loaded, case.location, case.tables)
    items = [(choice.component, choice.name) for choice in offered]
    items.append((UNMENDED, text("ask.unmended")))
    where = text("where.outcome")
    component = await desk.ask(ChooseScreen(where, text("ask.mended"), items))
    if component is None:
        return None
    if component == UNMENDED:
        return await cases.close_unmended(desk, case)
    notice = recording.still_failing(case.loaded, recording.choose(component, offered))
    asked = " ".join(filter(None, (notice, text("ask.proved"))))
    proofs = [(proof, text(f"ask.proved-{proof}")) for proof in PROOFS]
    proved = await desk.ask(ChooseScreen(where, asked, proofs))
    if proved is None:
        return None
    return await cases.record_outcome(desk, case, component, proved == "yes")
