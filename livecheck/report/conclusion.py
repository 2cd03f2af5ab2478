"""The first screen of the report: what is wrong, what to order, what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck import heed, step_names
from livecheck.found_words import reworded
from livecheck.names import Named, Names
from livecheck.partssheet.sheet import NEVER_ORDERED, SURE
from livecheck.records import Candidate, Caution, Knowledge, Location, NextStep, Side
from livecheck.report.faults import WORTH_A_CARD
from livecheck.suspects import Suspect, side_words
from livecheck.way_on import WayOn, heading, state_of
from livecheck.wording import kind_title, minutes, text

MAX_SUSPECTS: Final = 6


class StepWords(msgspec.Struct, frozen=True, kw_only=True):
    """A next step in words."""

    action: str
    target: str
    time: str
    why: str
    outcomes: tuple[tuple[str, float, str], ...]
    """What may come out, how probable that is, what it would mean."""
    cautions: tuple[Caution, ...]

    @property
    def tells_apart(self) -> bool:
        """Whether its outcomes mean different things."""
        return len({means for _, _, means in self.outcomes}) > 1


class SuspectWords(msgspec.Struct, frozen=True, kw_only=True):
    """A component that may be at fault beside, or in place of, the verdict's."""

    component: Named
    side: Side
    unit: str
    probability: float
    bears: bool
    """False: it was found besides the complaint."""


class Conclusion(msgspec.Struct, frozen=True, kw_only=True):
    """What is wrong and what to do: the first screen."""

    side: Side
    side_words: str
    """The same in words; of what needs no order, that it needs none."""
    sentence: str
    explanation: tuple[str, ...]
    meaning: str
    probability: float | None
    """None: nothing was judged or determined, so a figure would say nothing."""
    component: Named | None
    unit: str | None
    orders: tuple[str, ...]
    """Units to order, the verdict's first."""
    also: tuple[SuspectWords, ...]
    suspects: tuple[SuspectWords, ...]
    """While nothing is determined: what it could be, likeliest first."""
    heading: str
    """Over what is left, or over the step."""
    left: tuple[str, ...]
    """Once the repair is proven: what is left to do."""
    heed: tuple[Caution, ...]
    """What to mind whatever is done next."""
    step: StepWords | None
    no_step: str
    """What to do when no further step is proposed."""
    alternatives: tuple[StepWords, ...]
    pattern: str | None


class Standing(msgspec.Struct, frozen=True, kw_only=True):
    """How a case stands, beside its location."""

    listed: tuple[Suspect, ...]
    """Who could be at fault, by unit."""
    left: tuple[WayOn, ...]
    """What is left to do once the repair is proven."""
    judged: int
    """How many readings were judged."""
    closed: bool
    step: NextStep | None
    """The step that is proposed."""
    no_step: str
    """What to do when no further step is proposed."""
    heed: tuple[Caution, ...]
    """What to mind whatever is done next."""
    data: str
    """Of the customer's data, as ``heed.data_in`` has it."""


def withheld(found: Location, standing: Standing) -> bool:
    """Whether a drive gives out nothing, so that nobody looked at the system on it."""
    system = bool(found.candidates) and found.candidates[0].side is Side.SOFTWARE
    open_yet = found.side in (Side.SOFTWARE, Side.UNDETERMINED)
    return standing.data == heed.WITHHELD and system and open_yet


def conclusion(
    location: Location, standing: Standing, names: Names, knowledge: Knowledge
) -> Conclusion:
    """What a location says, in words."""
    left, judged = standing.left, standing.judged
    component = names.of(location.component) if location.component else None
    unit = kind_title(location.unit, knowledge) if location.unit else None
    leads = [one.lead for one in standing.listed]
    also = [
        c
        for c in leads
        if c.probability >= 0.5 and location.component and c.component != location.component
    ]
    locked = withheld(location, standing)
    undecided = location.side is Side.UNDETERMINED and not location.put_right
    guessed = undecided and not locked
    open_ones = [c for c in leads if guessed and c.probability >= WORTH_A_CARD]
    step = standing.step if not left else None
    return Conclusion(
        side=location.side,
        side_words=side_words(location),
        sentence=location.sentence or _sentence(location, component, unit),
        explanation=location.explanation,
        meaning=text(f"meaning.{heed.WITHHELD if locked else state_of(location, judged)}"),
        probability=location.probability if judged and not undecided else None,
        component=component,
        unit=unit,
        orders=() if left or standing.closed else _orders(location, also, knowledge),
        also=tuple(_suspect(c, names, knowledge) for c in also),
        suspects=tuple(_suspect(c, names, knowledge) for c in open_ones[:MAX_SUSPECTS]),
        heading=heading(left) if left else text("step.heading"),
        left=tuple(one.says for one in left),
        heed=() if left else standing.heed,
        step=_step(step, names, knowledge) if step else None,
        no_step=standing.no_step,
        alternatives=tuple(_step(s, names, knowledge) for s in location.alternatives if step),
        pattern=location.pattern and reworded(location.pattern),
    )


def _orders(location: Location, also: Sequence[Candidate], knowledge: Knowledge) -> tuple[str, ...]:
    units = [location.unit, *(c.unit for c in also if c.probability >= SURE)]
    bought = dict.fromkeys(u for u in units if u and u not in NEVER_ORDERED)
    return tuple(kind_title(unit, knowledge) for unit in bought)


def _sentence(location: Location, component: Named | None, unit: str | None) -> str:
    if component and unit:
        return text("verdict.component", component=component.label, unit=unit)
    return text(f"verdict.{location.side.value}")


def _suspect(candidate: Candidate, names: Names, knowledge: Knowledge) -> SuspectWords:
    return SuspectWords(
        component=names.of(candidate.component, candidate.name, candidate.kind),
        side=candidate.side,
        unit=kind_title(candidate.unit, knowledge),
        probability=candidate.probability,
        bears=candidate.bears,
    )


def _step(step: NextStep, names: Names, knowledge: Knowledge) -> StepWords:
    return StepWords(
        action=step_names.action(step, knowledge),
        target=step_names.target(step, names),
        time=minutes(step.minutes),
        why=step.why,
        outcomes=tuple((o.result, o.probability, o.means) for o in step.outcomes),
        cautions=heed.cautions(step, knowledge),
    )
