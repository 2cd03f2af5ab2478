"""Parts that go back, the minimum configuration, and the way back from it by halves."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.one_part import alone
from livecheck.diagnosis.steps.prediction import changed
from livecheck.diagnosis.steps.situation import STAYS_IN, Move, Situation, tried
from livecheck.diagnosis.worksheet_machine import assumed
from livecheck.records import PartIs, Side
from livecheck.topology.ids import ComponentId


def absent(here: Situation) -> dict[ComponentId, str]:
    """Parts that were fitted before and are out now -> place they came from."""
    out: dict[ComponentId, str] = {}
    inside = set(here.now.parts.values())
    read = [one for one in here.graph.home if not assumed(one.run.inventory)]
    for one in read or here.graph.home:
        if one.scope != here.now.scope:
            continue
        for place, part in one.parts.items():
            if part not in inside and part not in one.known_good:
                out[part] = place
    return out


def put_back(here: Situation) -> Iterator[Move]:
    """A part that is out goes back where it was, to see whether the fault comes back."""
    bench = here.bench
    for part, place in sorted(absent(here).items(), key=lambda item: str(item[0])):
        component, done = here.component(part), tried(here.graph, part, place)
        if component is None or done.stints > 1 or _bought_for(here, place) or _worn(here, part):
            continue
        kind, number = component.kind, here.graph.index[component.id]
        if not bench.allows(Action.PUT_BACK, kind, str(part)):
            continue
        there = here.now.parts.get(place)
        tests = here.tests(changed(here.now, {place: part}))
        yield Move(
            action=Action.PUT_BACK,
            target=str(part),
            to=place,
            parts=(str(there),) if there is not None else (),
            minutes=bench.covers([kind]) + bench.hands(kind) + bench.trial(),
            tests=tests,
            swaps=True,
            about=number,
        )
        if not done.in_known_good_machine and bench.allows(
            Action.KNOWN_GOOD_MACHINE, kind, str(part)
        ):
            yield Move(
                action=Action.KNOWN_GOOD_MACHINE,
                target=str(part),
                minutes=2 * bench.hands(kind) + bench.trial(),
                tests=alone(number, tests),
                swaps=True,
                about=number,
            )


def _worn(here: Situation, part: ComponentId) -> bool:
    """Whether all that failed at a part is that it is worn: it is, wherever it sits, and tells no
    more put back."""
    own = [one for one in here.found if one.failed and one.read_at == str(part)]
    return bool(own) and all(one.finding for one in own)


def _bought_for(here: Situation, place: str) -> bool:
    """Whether a new part was told to be in, which is no spare, and nothing fails with it.

    Nobody takes it out again to see the old one fail (common practice, no source).
    """
    answers = (answer for one in here.graph.home for answer in one.run.answers)
    told = [one for one in answers if isinstance(one, PartIs) and one.place == place]
    new = bool(told) and not told[-1].known_good and told[-1].key is None
    return new and not here.fails_now


def many(here: Situation) -> Iterator[Move]:
    """The minimum configuration, and half of it back."""
    bench = here.bench
    out = absent(here)
    minimum = sum(place not in here.now.parts for place in out.values()) >= 2
    seen = not assumed(here.now.run.inventory)
    if here.fails_now and seen and bench.allows(Action.MINIMUM):
        yield from _minimum(here)
    if minimum and not here.fails_now and bench.allows(Action.HALF_BACK):
        half = _half(here, out)
        yield _with_parts(here, Action.HALF_BACK, {out[part]: part for part in half}, half)


def _minimum(here: Situation) -> Iterator[Move]:
    blamed = here.blamed()
    leave: dict[str, ComponentId] = {}
    modules = suspects = 0
    for place, part in sorted(here.now.parts.items()):
        component, record = here.component(part), here.record(part)
        if component is None or component.kind in STAYS_IN or (record and record.soldered):
            continue
        if component.side is not Side.DEVICE:
            continue
        if component.kind == "memory-module":
            modules += 1
            if modules == 1:
                continue
        leave[place] = part
        suspects += here.graph.index[component.id] in blamed
    if suspects >= 2:
        emptied: dict[str, ComponentId | None] = dict.fromkeys(leave, None)
        yield _with_parts(here, Action.MINIMUM, emptied, list(leave.values()))


def _with_parts(
    here: Situation,
    action: Action,
    change: Mapping[str, ComponentId | None],
    parts: list[ComponentId],
) -> Move:
    bench = here.bench
    kinds = [c.kind for part in parts if (c := here.component(part)) is not None]
    return Move(
        action=action,
        target="machine",
        parts=tuple(map(str, parts)),
        minutes=bench.covers(kinds) + sum(map(bench.hands, kinds)) / 2 + bench.trial(),
        tests=here.tests(changed(here.now, change)),
    )


def _half(here: Situation, out: Mapping[ComponentId, str]) -> list[ComponentId]:
    """Parts that together hold about half of the probability: the best yes-or-no question."""
    empty = [part for part, place in out.items() if place not in here.now.parts]

    def chance(part: ComponentId) -> float:
        component = here.component(part)
        if component is None:
            return 0.0
        return here.belief.marginals[here.graph.index[component.id]]

    ranked = sorted(empty, key=lambda part: (-chance(part), str(part)))
    whole = sum(map(chance, ranked))
    half: list[ComponentId] = []
    held = 0.0
    for part in ranked[:-1]:
        if not half or held + chance(part) <= whole / 2:
            half.append(part)
            held += chance(part)
    return half
