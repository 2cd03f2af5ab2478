"""What one confirmed case has to say: which figures it tried, and what came of it.

Judged are the runs of the machine as it came. A repair proves the unit that was mended; which
component of it was at fault stays hidden, so that each counts by its share of the posterior given
that unit (the expectation step of Dempster, Laird and Rubin, J. R. Statist. Soc. B 39, 1977).

An outcome may be false: with the chance of the table it names any unit, all alike. How much a
case counts is the chance that its outcome is true, by what the runs say of that unit: an outcome
that its own runs make absurd counts for little, and who rightly proved an unlikely one loses
little.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Final, Literal

from livecheck.diagnosis import Weighed, weigh
from livecheck.diagnosis.model import priors
from livecheck.diagnosis.model.evidence import ACTIVITIES
from livecheck.diagnosis.observations import Observation
from livecheck.records import (
    ComplaintShows,
    GoesBack,
    Knowledge,
    LastStartEnded,
    ModelParameters,
    PartIs,
    PluggedIn,
    Proved,
    Record,
    Remark,
    Run,
)
from livecheck.topology.blame import Accusations, row_name
from livecheck.topology.identity import board_names

NO_FAULT: Final = "no-fault"
SOFTWARE: Final = "software"
WHOLE: Final = (NO_FAULT, SOFTWARE)
"""What holds a share of all cases; every other kind's share is of cases with a fault."""
SHOWS: Final = "shows"
ALARM: Final = "alarm"
STATE: Final = "state"
_LEAVE_IT: Final = (ComplaintShows, LastStartEnded, GoesBack, Remark, PartIs, PluggedIn)
"""Answers that change nothing in the machine."""

Table = Literal["weight", "shows", "alarm", "state"]
Figure = tuple[Table, str]
"""Which table, and its row: a kind; a check and whom it blames; a check; a hidden state."""


class Taught(Record, frozen=True, kw_only=True):
    """A closed case: its runs, and what was proved."""

    proved: Proved
    runs: tuple[Run, ...]


class FigureTried(Record, frozen=True, kw_only=True):
    """One figure tried in one case; all readings of it together are one."""

    figure: Figure
    chance: float
    """The figure, by the table."""
    failed: float
    """Share of the readings that failed."""
    counts: float = 1.0
    """How much of a case it is, 0 … 1."""
    scale: float = 1.0
    """What the figure is multiplied by: the fault acts, was looked at, and can be seen."""
    other: float = 0.0
    """Chance that it fails for another reason."""


class Lesson(Record, frozen=True, kw_only=True):
    """What a case has to say."""

    machine: str
    given: float
    """Chance that the table gave to what was proved."""
    likeliest: bool
    """True: nothing was likelier."""
    believed: float
    """Chance that its outcome is true."""
    found: dict[str, float]
    """Kind -> share of what was proved."""
    expected: dict[str, float]
    """Kind -> its share by the table: of all cases for ``WHOLE``, of single faults for others."""
    trials: tuple[FigureTried, ...]


def as_it_came(runs: Sequence[Run]) -> tuple[Run, ...]:
    """The runs before the first thing that was done by hand."""
    kept: list[Run] = []
    for run in sorted(runs, key=lambda run: run.number):
        told = any(not isinstance(answer, _LEAVE_IT) for answer in run.answers)
        named = any(isinstance(answer, PartIs) for answer in run.answers) and bool(kept)
        if run.in_known_good_machine or run.reseated or run.known_good or told or named:
            break
        first = kept[0] if kept else run
        if {part.id for part in run.inventory.parts} - {part.id for part in first.inventory.parts}:
            break
        kept.append(run)
    return tuple(kept)


def unit_chances(weighed: Weighed) -> dict[str, float]:
    """Chance of each unit to be what is at fault; a set of faults counts for its units alike."""
    components = weighed.bench.graph.components
    found: defaultdict[str, float] = defaultdict(float)
    for members, chance in weighed.belief.sets:
        units = {components[number].group for number in members} or {NO_FAULT}
        for unit in units:
            found[unit] += chance / len(units)
    return dict(found)


def unit_proved(weighed: Weighed, proved: Proved) -> str | None:
    """The unit that was mended; None: the runs know no such component."""
    component = weighed.bench.graph.named(proved.component)
    if component is None:
        return NO_FAULT if proved.component == NO_FAULT else None
    return component.group


def lesson(taught: Taught, knowledge: Knowledge) -> Lesson | None:
    """What a case has to say; None where no run of the machine as it came knows what was proved."""
    runs = as_it_came(taught.runs)
    weighed = weigh(runs, knowledge) if runs else None
    unit = unit_proved(weighed, taught.proved) if weighed is not None else None
    if weighed is None or unit is None:
        return None
    graph = weighed.bench.graph
    members = [n for n, one in enumerate(graph.components) if one.group == unit]
    alike = {number: weighed.belief.marginals[number] for number in members}
    total = sum(alike.values())
    blamed = {n: share / total for n, share in alike.items()} if total > 0.0 else {}
    found: defaultdict[str, float] = defaultdict(float)
    for number, share in blamed.items():
        found[graph.components[number].kind] += share
    chances = unit_chances(weighed)
    given = chances.get(unit, 0.0)
    return Lesson(
        given=given,
        likeliest=given == max(chances.values()),
        machine=" ".join(sorted(board_names(runs[0].inventory.machine))) or taught.proved.case,
        believed=_believed(given, len(chances), knowledge.model),
        found=dict(found) if blamed else {NO_FAULT: 1.0},
        expected=_expected(weighed),
        trials=tuple(_trials(weighed, blamed)),
    )


def _believed(given: float, units: int, model: ModelParameters) -> float:
    false = model.false_outcomes.value
    true = (1.0 - false) * given
    return true / (true + false / units)


def _expected(weighed: Weighed) -> dict[str, float]:
    graph, knowledge = weighed.bench.graph, weighed.bench.knowledge
    weights: defaultdict[str, float] = defaultdict(float)
    for component in graph.components:
        if component.kind != SOFTWARE:
            own = priors.component_weight(component, knowledge, graph.complaint)
            weights[component.kind] += own
    total = sum(weights.values())
    found = {kind: weight / total for kind, weight in weights.items()}
    found[NO_FAULT] = priors.share(knowledge.model.no_fault, graph.complaint)
    found[SOFTWARE] = priors.software_share(knowledge, graph.complaint)
    return found


def _trials(weighed: Weighed, blamed: Mapping[int, float]) -> Iterator[FigureTried]:
    """``blamed``: component -> its share of the fault."""
    seen: defaultdict[Figure, list[FigureTried]] = defaultdict(list)
    graph, knowledge = weighed.bench.graph, weighed.bench.knowledge
    accusations = Accusations(graph, knowledge.checks)
    acts = _acts(knowledge.model)
    for one in weighed.found:
        figure: Figure = (STATE, one.state.name) if one.state else (ALARM, one.reading.check)
        alarm = FigureTried(figure=figure, chance=_alarm(one), failed=float(one.failed))
        rows = accusations.rows(one.run, one.reading)
        own = [(blamed[n], row) for c, row in rows.items() if (n := graph.index[c]) in blamed]
        if not own:
            seen[figure].append(alarm)
        for counts, row in () if one.beside else own:
            shows: Figure = (SHOWS, row_name(one.reading.check, row))
            tried = FigureTried(
                figure=shows,
                counts=counts,
                chance=row.detect,
                scale=acts * one.covered,
                other=alarm.chance,
                failed=alarm.failed,
            )
            seen[shows].append(tried)
    return map(_together, seen.values())


def _acts(model: ModelParameters) -> float:
    """Chance that a fault can be seen, and acts in a run."""
    rests = model.intermittent_faults.value * (1.0 - sum(ACTIVITIES) / len(ACTIVITIES))
    return (1.0 - model.hidden_faults.value) * (1.0 - rests)


def _alarm(one: Observation) -> float:
    """Chance that a reading fails with nothing at fault."""
    state = one.state
    if state is None:
        return one.false_alarm
    there = sum(s * shows for s, shows in zip(state.shares, state.shows, strict=True))
    return 1.0 - (1.0 - one.false_alarm) * (1.0 - there * state.repeats)


def _together(some: Sequence[FigureTried]) -> FigureTried:
    """A case counts once for each figure, however often it was read."""
    total = sum(trial.counts for trial in some)

    def mean(field: str) -> float:
        return float(sum(trial.counts * getattr(trial, field) for trial in some)) / total

    return FigureTried(
        figure=some[0].figure,
        counts=min(1.0, total),
        chance=mean("chance"),
        scale=mean("scale"),
        other=mean("other"),
        failed=mean("failed"),
    )
