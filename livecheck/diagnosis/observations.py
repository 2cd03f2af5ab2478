"""The judged readings of a case, each with the components that it looked at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import msgspec

from livecheck.diagnosis.signs import beside_complaint
from livecheck.records import (
    Check,
    Complaint,
    Knowledge,
    ModelParameters,
    Outcome,
    Reading,
    Record,
    Run,
    Side,
)
from livecheck.topology.blame import Accusations, MeasuredAt, accused
from livecheck.topology.configuration import Configuration
from livecheck.topology.graph import Graph
from livecheck.topology.ids import THE_HUNG, THE_SETTING
from livecheck.topology.paths import Paths

COMPLAINT: Final = "complaint."
"""Begin of the checks that say where the complaint was seen."""
OUTSIDE: Final = f"{COMPLAINT}outside"
_MANY: Final = 4
"""Assumed: told so many times as often to show inside alone, it was mistaken outside."""
SIGHTINGS: Final = 3
"""Assumed: so many sightings of the complaint count; more are of one kind."""
STAYED_AWAY: Final = 8
"""Assumed: so many looks count in which it was seen no more."""
FOLLOWS: Final = 0.03
"""Assumed: so much seldomer a false alarm that stays is a part's than one of where it sits."""
_WHOLE: Final = "machine"
Members = tuple[tuple[int, float], ...]
"""(Index of a component, its detect), by index."""


class HiddenCause(Record, frozen=True, kw_only=True):
    """A hidden state of one machine or part, as one check sees it."""

    name: str
    at: str
    """What it belongs to: the machine, a controller of its model, or what was read."""
    point: str
    """Where it shows, or does not: all over what it belongs to, or at what was read."""
    shares: tuple[float, ...]
    """Chance that it is there, for each degree."""
    shows: tuple[float, ...]
    """Chance that, where it is there, it shows in this check, for each degree."""
    repeats: float = 1.0
    """Chance that a check that it shows in fails in one run."""


class Observation(Record, frozen=True, kw_only=True):
    """One judged reading and the components that could have made it fail."""

    run: int
    reading: Reading
    members: Members
    false_alarm: float
    direct: bool = False
    read_at: str = ""
    """What it was read at, over all runs: the id of a part wherever it sits, else of what stays."""
    symptom_group: str = ""
    """Name shared by checks that look at the same events."""
    event: bool = False
    """True: a false alarm of it does not stay from run to run."""
    covered: float = 1.0
    """Share of its faults that what was looked at could show."""
    state: HiddenCause | None = None
    """What makes it fail, and other checks with it, with nothing at fault; None: nothing known."""
    finding: bool = False
    """True: what failed is certain, and may have nothing to do with the complaint."""
    strength: float = 1.0
    """How many times likelier a failure of this size is of a fault than of a false alarm."""
    beside: bool = False
    """True: what it sees is nothing that the complaint could be of."""
    habit: float = 1.0
    """Factor on the chance that a false alarm of it comes back in every run."""

    @property
    def failed(self) -> bool:
        """True: the check failed."""
        return self.reading.outcome is Outcome.FAILED


def observations(
    runs: Sequence[Run], graph: Graph, knowledge: Knowledge
) -> tuple[Observation, ...]:
    """Every judged reading whose check the table knows, in order of runs."""
    by_number = {now.run.number: now for now in graph.configurations}
    accusations = Accusations(graph, knowledge.checks)
    beside = beside_complaint(knowledge, graph.complaint)
    found: list[Observation] = []
    for run in sorted(runs, key=lambda run: run.number):
        for reading in run.readings:
            check = knowledge.checks.get(reading.check)
            if check is None or reading.outcome is Outcome.NOT_JUDGED:
                continue
            number = accusations.run_of(run.number, reading)
            accused = accusations.of(run.number, reading)
            found.append(
                Observation(
                    run=number,
                    reading=reading,
                    members=tuple(sorted((graph.index[own], detect) for own, detect in accused)),
                    false_alarm=check.false_alarm,
                    direct=check.direct,
                    read_at=str(by_number[number].test_point(reading.at)),
                    symptom_group=check.symptom_group,
                    event=check.event,
                    covered=covered(check, reading),
                    state=_state(check, accusations.path(number, reading.at), graph.parameters),
                    finding=check.finding,
                    strength=strength(check, reading),
                    beside=check.name in beside,
                )
            )
    last = _told_once(_last(found, by_number, knowledge))
    seen = tuple(_habits(tuple(_met_again(last, graph)), graph))
    missed = graph.complaint is Complaint.PART_MISSING
    return tuple(_one_thing(seen, graph)) if missed else seen


def _last(
    found: Sequence[Observation], by_number: Mapping[int, Configuration], knowledge: Knowledge
) -> list[Observation]:
    """Of a figure that stays as it is, what was read last with the machine as it was."""
    kept: list[Observation] = []
    for one in found:
        name = one.reading.check
        if knowledge.checks[name].last_counts:
            state = by_number[one.run].state
            kept = [old for old in kept if (old.reading.check, old.read_at) != (name, one.read_at)
                    or by_number[old.run].state != state]  # fmt: skip
        kept.append(one)
    return kept


def _told_once(found: Sequence[Observation]) -> list[Observation]:
    """Where the complaint was seen counts some times, that it was not seen once.

    What comes and goes stays away in most looks; seen outside the installed system, it is seen
    inside it as well. Seen outside once in many looks, something ordinary may be meant.
    """
    told: dict[str, list[int]] = {f"{COMPLAINT}inside": [], OUTSIDE: []}
    for turn, one in enumerate(found):
        if one.reading.check in told:
            told[one.reading.check].append(turn)
    inside, outside = told.values()
    out = [turn for turn in outside if found[turn].failed]
    seen = [turn for turn in inside if found[turn].failed]
    if out and len(seen) < _MANY * len(out):
        since = [turn for turn in outside if turn > out[-1]]
        kept = [*out[-SIGHTINGS:], *since[-STAYED_AWAY:]]
    elif seen:
        runs = {found[turn].run for turn in seen[-SIGHTINGS:]}
        kept = [turn for turn in (*seen, *outside) if found[turn].run in runs or turn in out]
    else:
        kept = [*inside[-1:], *outside[-1:]]
    rest = {*inside, *outside}.difference(kept)
    return [one for turn, one in enumerate(found) if turn not in rest]


def strength(check: Check, reading: Reading) -> float:
    """What the size of a failed reading's value adds (``Check.grades``)."""
    value = reading.value
    if reading.outcome is not Outcome.FAILED or not isinstance(value, (int, float)):
        return 1.0
    reached = [grade.ratio for grade in check.grades if value >= grade.least]
    return reached[-1] if reached else 1.0


def _state(check: Check, found: MeasuredAt, model: ModelParameters) -> HiddenCause | None:
    row = model.hidden_states.get(check.hidden_state)
    if row is None:
        return None
    where = {"machine": found.machine, "controller": found.chip, "part": found.point}[row.of]
    return HiddenCause(
        name=check.hidden_state,
        at=where,
        point=where if row.everywhere else found.point,
        shares=row.shares,
        shows=check.state_shows,
        repeats=row.repeats,
    )


def _met_again(found: Sequence[Observation], graph: Graph) -> Iterator[Observation]:
    """What showed in a part's samples lies where the same samples meet it again."""
    parts = {str(part) for now in graph.configurations for part in now.parts.values()}
    met = {(one.reading.check, one.read_at) for one in found if one.failed and one.read_at in parts}
    for one in found:
        again = one.covered < 1.0 and (one.reading.check, one.read_at) in met
        yield msgspec.structs.replace(one, covered=1.0) if again else one


def _places(found: Sequence[Observation], graph: Graph) -> list[str]:
    """Where each part that was read sat then; empty for what is no part, or was elsewhere."""
    homes = {now.run.number: {str(p): own for own, p in now.parts.items()} for now in graph.home}
    return [homes.get(one.run, {}).get(one.read_at, "") for one in found]


def _habits(found: Sequence[Observation], graph: Graph) -> Iterator[Observation]:
    """Where another part passes in the same place, the place has no habit of failing this check."""
    failed: dict[tuple[str, str], set[str]] = {}
    passed: dict[tuple[str, str], set[str]] = {}
    points = _places(found, graph)
    for one, place in zip(found, points, strict=True):
        into = failed if one.failed else passed
        into.setdefault((one.reading.check, place), set()).add(one.read_at)
    for one, place in zip(found, points, strict=True):
        key = (one.reading.check, place)
        sound = passed.get(key, set()) - failed.get(key, set()) - {one.read_at}
        # What no place can make fail is kept in the part, and was its own before.
        seated = any(graph.components[n].side is not Side.DEVICE for n, _ in one.members)
        follows = bool(place) and bool(sound) and seated and not one.finding and one.state is None
        yield msgspec.structs.replace(one, habit=FOLLOWS) if follows else one


def _one_thing(found: Sequence[Observation], graph: Graph) -> Iterator[Observation]:
    """Of one part that is missing: what hangs, or is set wrongly, is that one, and what passes
    elsewhere does not clear it."""
    known = zip(found, _places(found, graph), strict=True)
    places = [place or one.read_at for one, place in known]
    hurt: dict[int, set[str]] = {}
    for own in (THE_HUNG, THE_SETTING):
        number = graph.index.get(own, -1)
        hurt[number] = {place for one, place in zip(found, places, strict=True)
                        if one.failed and number in dict(one.members)
                        and not one.reading.check.startswith(COMPLAINT)}  # fmt: skip
    for one, place in zip(found, places, strict=True):
        left = tuple((number, detect) for number, detect in one.members
                     if one.failed or not hurt.get(number)
                     or not hurt[number].isdisjoint((place, _WHOLE)))  # fmt: skip
        yield msgspec.structs.replace(one, members=left) if left != one.members else one


def covered(check: Check, reading: Reading) -> float:
    """Share of a check's faults that a reading could show: some of what it did not look at.

    Of the faults that sit in one place the share that was looked at is met, of the others all.
    """
    if reading.covered is None:
        return 1.0
    share = min(max(reading.covered, 0.0), 1.0)
    return check.anywhere + (1.0 - check.anywhere) * share


def members(check: Check, at: str, paths: Paths) -> Members:
    """(Index, detect) of every component that could make ``check`` fail at ``at``."""
    index = paths.graph.index
    return tuple(sorted((index[own], detect) for own, detect in accused(check, at, paths)))
