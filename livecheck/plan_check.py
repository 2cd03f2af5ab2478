"""A plan held against the machine it is for: ids that name nothing are told at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from livecheck.near import near
from livecheck.plan import Plan
from livecheck.records import FirstPartBack, Inventory, PartIs, PluggedIn, Presence, Remark
from livecheck.records.answer_words import placed
from livecheck.wording import size


class WrongPlan(Exception):
    """The plan speaks of something that this machine has not; says what it has."""


def check_plan(plan: Plan, found: Inventory) -> None:
    """Raises WrongPlan before anything is saved or loaded."""
    for wrong in _wrong(plan, found):
        raise WrongPlan(wrong)


def _wrong(plan: Plan, found: Inventory) -> Iterator[str]:
    places = {place.id for place in found.places}
    yield from _stretch(plan, found)
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


def _stretch(plan: Plan, found: Inventory) -> Iterator[str]:
    if plan.span is None:
        return
    wanted, start = plan.span.drive, plan.span.start
    sizes = {part.block: part.size_bytes for part in found.parts if part.kind == "drive"}
    drives = [block for block in sizes if block is not None]
    if not drives:
        yield "there is no drive here to read a range of (leave --range out to test the rest)"
    elif wanted is not None and wanted not in drives:
        yield _none("drive", wanted, drives)
    known = {one: sizes[one] for one in drives if wanted in (None, one)}
    if known and all(end is not None and end <= start for end in known.values()):
        ends = ", ".join(f"{one} ends at {size(end)}" for one, end in known.items() if end)
        yield f"the range begins at {size(start)}, and {ends} (name a range that begins before)"


def _none(what: str, word: str, known: Iterable[str]) -> str:
    return f"{word} is no {what} here{near(word, known)}"
