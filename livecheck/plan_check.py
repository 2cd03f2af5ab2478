"""A plan held against the machine it is for: ids that name nothing are told at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from livecheck.near import near
from livecheck.plan import Plan
from livecheck.records import FirstPartBack, Inventory, PartIs, PluggedIn, Presence, Remark
from livecheck.records.answer_words import placed


class WrongPlan(Exception):
    """The plan speaks of something that this machine has not; says what it has."""


def check_plan(plan: Plan, found: Inventory) -> None:
    """Raises WrongPlan before anything is saved or loaded."""
    for wrong in _wrong(plan, found):
        raise WrongPlan(wrong)


def _wrong(plan: Plan, found: Inventory) -> Iterator[str]:
    places = {place.id for place in found.places}
    if not plan.in_known_good_machine:
        yield from (_none("place", p, places) for p in plan.reseated if p not in places)
    for answer in plan.answers:
        # A part may be told of by its id; its place is meant.
        if not isinstance(answer, PartIs | FirstPartBack | PluggedIn):
            continue
        if isinstance(placed(answer, found), Remark):
            yield _none("place", answer.place, places)
    # A spare that nobody sees can be where something must be and does not answer.
    silent = any(p.presence is Presence.NOTHING_ANSWERS for p in found.places)
    told = {word for a in plan.answers if isinstance(a, PartIs) for word in (a.name, a.key)}
    seen = {part.identity for part in found.parts if part.identity}
    if not silent:
        yield from (
            _none("identity of a fitted part", p, seen)
            for p in plan.known_good
            if p not in seen and p not in told
        )


def _none(what: str, word: str, known: Iterable[str]) -> str:
    return f"{word} is no {what} here{near(word, known)}"
