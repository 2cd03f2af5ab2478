"""Reseat, swap, move, remove, test in another machine: steps with one fitted part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from livecheck.diagnosis.model.windows import COOLING
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.steps.prediction import PredictedTest, Symptom, changed
from livecheck.diagnosis.steps.situation import (
    STAYS_IN,
    Move,
    Situation,
    Tried,
    complaint_alone,
    tried,
)
from livecheck.diagnosis.worksheet_machine import assumed
from livecheck.records import Place, Record, Side
from livecheck.topology.graph import Component
from livecheck.topology.ids import KNOWN_GOOD_PART, ComponentId

_LOOSE: Final = 0.1
"""Assumed: a contact this likely beside its part is made anew before the part is swapped."""

_OF_ONE_MODEL: Final = frozenset(
    {
        "keyboard",
        "touchpad",
        "pointing-stick",
        "speaker",
        "microphone",
        "camera",
        "panel",
        "cooling",
    }
)
"""Kinds that fit no second machine but of the same model (common practice, no source)."""


class _Fitted(Record, frozen=True, kw_only=True):
    """A part in its place, and what was done with it."""

    place: str
    part: ComponentId
    component: Component
    number: int
    """Of the component."""
    done: Tried
    work: float
    """Minutes for the covers before it and a start."""

    @property
    def target(self) -> str:
        """How a step names it."""
        return str(self.component.id)


def moves(here: Situation) -> Iterator[Move]:
    """The steps with each fitted part that is still open."""
    blamed = here.blamed()
    graph, bench = here.graph, here.bench
    for place, part in sorted(here.now.parts.items()):
        component = here.component(part)
        record = here.record(part)
        if component is None or component.side is not Side.DEVICE:
            continue
        if record is not None and record.soldered:
            continue
        number = graph.index[component.id]
        fitted = _Fitted(
            place=place,
            part=part,
            component=component,
            number=number,
            done=tried(graph, part, place),
            work=bench.covers([component.kind]) + bench.trial(),
        )
        if number in blamed or any(graph.components[n].part == part for n in blamed):
            yield from _in_place(here, fitted)
            yield from _to_other_places(here, fitted)
            yield from _out(here, fitted)
        elif _emptied(here):
            # What failed there is out: another part tries the place with its contact anew.
            yield from _to_other_places(here, fitted)
            yield from _where_it_failed(here, fitted)


def _emptied(here: Situation) -> bool:
    """Whether a place that something failed at is empty now."""
    places = {place.id for place in here.now.run.inventory.places}
    return any(one.at in places and one.at not in here.now.parts for one in here.symptoms)


def _in_place(here: Situation, one: _Fitted) -> Iterator[Move]:
    """The place stays the same: the part is put in anew, or a known-good one."""
    bench, kind = here.bench, one.component.kind
    if not here.fails_now:
        return
    # What putting in anew did not cure may be dirt; a third try tells nothing more.
    contact = here.graph.index.get(here.now.contact(one.place))
    anew = Action.CLEAN_CONTACTS if here.now.seatings.get(one.place, 0) else Action.RESEAT
    # A plug's contact is its jack's own, and made anew every day.
    plug = kind == "adapter" and contact is None
    if one.done.reseats < 2 and not plug and bench.allows(anew, kind, one.place):
        yield Move(
            action=anew,
            target=one.place,
            minutes=one.work + bench.hands(kind, reseat=True),
            tests=here.tests(changed(here.now, {one.place: one.part})),
            about=one.number,
            cures=contact,
        )
    if (
        one.done.spares < 2
        and not (_loose(here, one) or _dusty(here, one) or _behind(here, one))
        and bench.allows(Action.SWAP, kind, one.target)
    ):
        yield Move(
            action=Action.SWAP,
            target=one.target,
            to=one.place,
            minutes=one.work + bench.hands(kind),
            tests=here.tests(changed(here.now, {one.place: KNOWN_GOOD_PART})),
            swaps=True,
            about=one.number,
        )


def _loose(here: Situation, one: _Fitted) -> bool:
    """Whether its contact is made anew first.

    A swap is also a reseat: done first, nobody knows which of the two helped.
    """
    contact = here.graph.index.get(here.now.contact(one.place))
    if contact is None or one.done.reseats or not here.fails_now:
        return False
    likely = here.belief.marginals[contact] > _LOOSE * here.belief.marginals[one.number]
    return likely and here.bench.allows(Action.RESEAT, one.component.kind, one.place)


def _behind(here: Situation, one: _Fitted) -> bool:
    """Whether a likelier part of the kind sits where it failed, and is exchanged before this."""
    failed = {symptom.at for symptom in here.symptoms}
    alike = (
        here.graph.index[own.id]
        for place, part in here.now.parts.items()
        if place in failed
        and (own := here.component(part)) is not None
        and own.kind == one.component.kind
    )
    marginals = here.belief.marginals
    return one.place not in failed and any(marginals[n] > marginals[one.number] for n in alike)


def _dusty(here: Situation, one: _Fitted) -> bool:
    """Whether it is a cooling that nobody cleaned: dirt is likelier than a fault, and costs no
    part (common practice, no source)."""
    cleaned = here.now.treated.get(one.part, 0)
    allowed = here.bench.allows(Action.CLEAN, COOLING, one.target)
    return one.component.kind == COOLING and not cleaned and allowed


def _to_other_places(here: Situation, one: _Fitted) -> Iterator[Move]:
    """To every other place of the same kind; a part of the same kind there changes over."""
    bench, kind = here.bench, one.component.kind
    failed = {symptom.at: symptom.checks for symptom in here.symptoms}
    if not bench.allows(Action.MOVE, kind, one.target):
        return
    places = {place.id: place for place in here.now.run.inventory.places}
    for other in _alike(places.get(one.place), list(places.values()), kind):
        there = here.now.parts.get(other.id)
        held = here.component(there) if there is not None else None
        # What is soldered in makes no room for another.
        movable = held is not None and held.side is Side.DEVICE and held.kind == kind
        if there is not None and not movable:
            continue
        if any(_there_and_back(here, part, (one.place, other.id)) for part in (one.part, there)):
            continue
        # From where it failed to another place; or to where others failed, whose contact it tries.
        checks = failed.get(one.place) or failed.get(other.id)
        if checks is None or (one.place not in failed and there is not None):
            continue
        looked = [Symptom(at=other.id, checks=checks)]
        if there is not None:
            looked.append(Symptom(at=one.place, checks=checks))
        after = changed(here.now, {one.place: there, other.id: one.part})
        yield Move(
            action=Action.MOVE,
            target=one.target,
            to=other.id,
            parts=(str(there),) if there is not None else (),
            minutes=one.work + bench.hands(kind, reseat=True),
            tests=here.prediction(after).tests(looked, bench.knowledge.checks),
            swaps=there is not None,
            about=one.number,
        )


def _there_and_back(here: Situation, part: ComponentId | None, places: tuple[str, str]) -> bool:
    """Whether it was moved from one to the other and back: a third time tells nothing new."""
    return part is not None and sum(tried(here.graph, part, one).stints for one in places) > 2


def _where_it_failed(here: Situation, one: _Fitted) -> Iterator[Move]:
    """A known-good part into a place that failed with this one and is empty now."""
    bench, kind = here.bench, one.component.kind
    places = {place.id: place for place in here.now.run.inventory.places}
    if not bench.allows(Action.SWAP, kind, one.target):
        return
    for other in _alike(places.get(one.place), list(places.values()), kind):
        was_there = any(c.parts.get(other.id) == one.part for c in here.graph.home)
        if was_there and other.id not in here.now.parts:
            checks = [s.checks for s in here.symptoms if s.at == other.id]
            looked = [Symptom(at=other.id, checks=some) for some in checks]
            after = changed(here.now, {one.place: None, other.id: KNOWN_GOOD_PART})
            yield Move(
                action=Action.SWAP,
                target=one.target,
                to=other.id,
                minutes=one.work + bench.hands(kind),
                tests=here.prediction(after).tests(looked, bench.knowledge.checks),
                swaps=True,
                about=one.number,
            )


def _alike(own: Place | None, places: Sequence[Place], kind: str) -> Iterator[Place]:
    """Other places of the same kind, as far from the outside, that take this kind of part."""
    if own is None:
        return
    for other in places:
        alike = (other.kind, other.external) == (own.kind, own.external)
        # M.2 slots are keyed by what they are made for (DSP0134 7.10.1).
        takes = other.expects in (None, own.expects, kind)
        # Plugs inside are made each for its own part, whatever bus is on them.
        inside = other.kind == "usb-port" and not other.external
        if alike and other != own and takes and not inside:
            yield other


def _out(here: Situation, one: _Fitted) -> Iterator[Move]:
    """The part comes out: to see whether the fault goes, or to be tested in another machine."""
    bench, kind = here.bench, one.component.kind
    # What is taken out of a machine that nothing was read of is not seen to be out.
    goes = kind not in STAYS_IN and here.fails_now and not assumed(here.now.run.inventory)
    if goes and bench.allows(Action.REMOVE, kind, one.target) and not _last_module(here, one):
        yield Move(
            action=Action.REMOVE,
            target=one.target,
            minutes=one.work + bench.hands(kind) / 2,
            tests=here.tests(changed(here.now, {one.place: None})),
            about=one.number,
        )
    lent = one.done.in_known_good_machine or kind in _OF_ONE_MODEL or _loose(here, one)
    # What the customer complains of is this machine's.
    lent = lent or complaint_alone(here)
    if not lent and bench.allows(Action.KNOWN_GOOD_MACHINE, kind, one.target):
        yield Move(
            action=Action.KNOWN_GOOD_MACHINE,
            target=one.target,
            minutes=one.work + 2 * bench.hands(kind),
            tests=alone(one.number, here.tests(here.now)),
            swaps=True,
            about=one.number,
        )


def _last_module(here: Situation, one: _Fitted) -> bool:
    """True for the only memory module: without it nothing starts."""
    kinds = [c.kind for part in here.now.parts.values() if (c := here.component(part))]
    return one.component.kind == "memory-module" and kinds.count("memory-module") < 2


def alone(number: int, tests: Sequence[PredictedTest]) -> tuple[PredictedTest, ...]:
    """What a part would show in a known-good machine: nothing else there can fail."""
    found = (
        msgspec.structs.replace(test, misses={number: test.misses[number]})
        for test in tests
        if number in test.misses
    )
    return tuple(found)[:1]
