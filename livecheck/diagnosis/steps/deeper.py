"""Soak, deeper probes and measurements: the same configuration, looked at harder."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from livecheck.diagnosis.complaint import BY_EYE, PATIENCE, tested
from livecheck.diagnosis.model.permanent import Look
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.prediction import PredictedTest
from livecheck.diagnosis.steps.situation import (
    BY_HAND,
    Move,
    Situation,
    by_hand,
    ids_in,
    losing,
    present,
)
from livecheck.diagnosis.worksheet import NEITHER
from livecheck.records import Check, Complaint, Side
from livecheck.topology.came_to_light import GUIDED
from livecheck.topology.graph import Component
from livecheck.topology.ids import MAINBOARD

SOAK_REPEATS: Final = 4
MAX_REPEATS: Final = 7
"""Runs of one configuration after which repeating it is no step any more."""
WORTH_MEASURING: Final = 0.3
"""A measurement that would show a component's fault less often is not made for it."""
BY_METER: Final = {Complaint.NOT_CHARGING: "adapter"}
"""What a meter is held to whatever it would show, before no fault is said to be found (common
practice, no source)."""
OPEN: Final = 0.02
"""Components less likely than this are not worth a step of their own."""
_MEASURED: Final = 12
NO_LOAD: Final = ("heat.fan", "heat.critical", "intake.swollen", "intake.drive-noise")
"""Checks that fail where a load would do harm; near its own limit a chip slows down."""


def moves(here: Situation) -> Iterator[Move]:
    """What looks harder without changing anything."""
    bench, graph, marginals = here.bench, here.graph, here.belief.marginals
    patient = len(graph.as_now) <= MAX_REPEATS and tested(graph) < 2 * PATIENCE
    # Nobody waits for what nobody complains of.
    waited = here.symptoms or graph.complaint is not Complaint.INTAKE
    if waited and not _spared(here) and bench.allows(Action.SOAK) and patient:
        tests = _soaked(here) if here.symptoms else ()
        # Whether it starts is what it came for, whatever eye and hand found beside it.
        if not here.symptoms or (not tests and graph.complaint is Complaint.NO_POWER):
            tests = _everything(here, SOAK_REPEATS)
        minutes = bench.knowledge.bench.actions.soak.minutes
        yield Move(action=Action.SOAK, target="machine", minutes=minutes, tests=tests)
    if not _spared(here):
        yield from _full_tests(here)
    ranked = sorted(range(len(graph.components)), key=lambda number: -marginals[number])
    for number in ranked[:_MEASURED]:
        component = graph.components[number]
        if marginals[number] < OPEN or component.side in (Side.SOFTWARE, Side.UNDETERMINED):
            continue
        yield from _measured(here, number, component)


def _spared(here: Situation) -> bool:
    """Whether a load would do harm to the machine as it was last seen."""
    return any(
        one.failed and one.run == here.looked and one.reading.check in NO_LOAD for one in here.found
    )


def _soaked(here: Situation) -> tuple[PredictedTest, ...]:
    """The symptoms that a run looks for by itself; what only eye and hand found it looks for
    again where that went away, and comes and goes."""
    own = [one for one in here.symptoms if not all(c.startswith(BY_HAND) for c in one.checks)]
    now = here.now.run.number
    shown = {check for one in here.symptoms for check in one.checks}
    shows = any(one.failed and one.run == now and one.reading.check in shown for one in here.found)
    again = own if own or shows else here.symptoms
    return here.prediction(here.now).tests(again, here.bench.knowledge.checks, SOAK_REPEATS)


def _everything(here: Situation, repeats: int) -> tuple[PredictedTest, ...]:
    """One test of all that the last run judged, where nothing ever failed."""
    looks: dict[int, list[Look]] = {}
    seen = BY_EYE.get(here.graph.complaint)
    for one in here.found:
        name = one.reading.check
        # Whether it starts, and with a picture, is looked at again and again too.
        if one.run == here.looked and (name == seen or not name.startswith(BY_HAND)):
            for number, detect in one.members:
                looks.setdefault(number, []).append((name, one.symptom_group or name, detect))
    if not looks:
        return ()
    model = here.belief.model
    misses = {n: model.miss_probability(n, some, repeats) for n, some in looks.items()}
    return (PredictedTest(at="machine", misses=misses, false_alarm=1.0 - 0.99**repeats),)


def _full_tests(here: Situation) -> Iterator[Move]:
    """The full tests of everything that has some, once in a configuration."""
    bench, graph, marginals = here.bench, here.graph, here.belief.marginals
    inside = present(here)
    full = [one for one in graph.configurations if one.run.depth != "quick"]
    judged = {own for one in full for own in ids_in(one)}
    kinds = bench.knowledge.kinds
    shown = {name: row.full_tests_show for name, row in kinds.items()}
    misses = {
        number: 1.0 - chance
        for number, component in enumerate(graph.components)
        if (chance := shown.get(component.kind)) is not None and component.id in inside - judged
    }
    # A machine that fails what eye and meter look at, and showed no more, runs no test either;
    # and no memory or drive keeps one from switching on.
    if not misses or by_hand(here) or graph.complaint is Complaint.NO_POWER:
        return
    lost = losing(here)
    lead = max(misses, key=lambda number: (number in lost, marginals[number]))
    component = graph.components[lead]
    if bench.allows(Action.DEEPER, component.kind, str(component.id)):
        yield Move(
            action=Action.DEEPER,
            target=str(component.id),
            minutes=bench.knowledge.bench.actions.full_trial.minutes,
            tests=(PredictedTest(at=str(component.id), misses=misses, false_alarm=0.03),),
            about=lead,
        )


def _measured(here: Situation, number: int, component: Component) -> Iterator[Move]:
    bench = here.bench
    if not bench.allows(Action.MEASURE, component.kind, str(component.id)):
        return
    prediction = here.prediction(here.now)
    by_meter = BY_METER.get(here.graph.complaint) == component.kind
    worth = WORTH_MEASURING / 3 if by_meter else WORTH_MEASURING
    wanted: dict[str, list[Check]] = {}
    for check in _measurements(here, number):
        for at in _where(here, component, check):
            missed = prediction.test(at, [check]).misses.get(number, 1.0)
            if missed <= 1.0 - worth:
                wanted.setdefault(at, []).append(check)
    if wanted:
        checks = [check for made in wanted.values() for check in made]
        # Its rails are reached below the cover, as the memory is; the board stays in.
        kinds = ["memory-module"] if component.kind == MAINBOARD else []
        each = bench.knowledge.bench.actions.measurement.minutes
        yield Move(
            action=Action.MEASURE,
            target=str(component.id),
            minutes=len(checks) * each + bench.covers(kinds),
            tests=tuple(prediction.test(at, made) for at, made in wanted.items()),
            checks=tuple(check.name for check in checks),
            about=number,
        )


def _where(here: Situation, component: Component, check: Check) -> Iterator[str]:
    """What a measurement of a component is made at, by its ids in this run."""
    made_at = [component.place or component.id]
    if check.made_at:
        inside = present(here)
        made_at = [one.id for one in here.graph.components if one.kind == check.made_at]
        made_at = [own for own in made_at if own in inside]
    for own in made_at:
        yield own.key if own == here.now.on_board(own.key) else str(own)


def _measurements(here: Situation, number: int) -> Iterator[Check]:
    """Measurements at the bench that could not be judged of a component yet."""
    done = {one.reading.check for one in here.found if number in dict(one.members)}
    runs = (one.run for one in here.graph.as_now)
    done |= {r.check for run in runs for r in run.readings if r.why_not == NEITHER}
    complaint = here.graph.complaint.value
    # As long as nothing failed: then it is known which part the customer misses.
    hands = here.graph.complaint is Complaint.PART_MISSING and not here.symptoms
    for name, check in here.bench.knowledge.checks.items():
        # A dead machine's checks say nothing of one that starts.
        other = bool(check.complaints) and complaint not in check.complaints
        seen = hands and name.startswith(GUIDED) and bool(check.made_at)
        if (name.startswith("bench.") or seen) and name not in done and not other:
            yield check
