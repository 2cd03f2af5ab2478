"""What was fitted where in each run: the part in every place, under one name per part.

A part keeps one key over all runs of a case: its own id where its identity can
be believed, else the place it was seen in, told apart by what the technician
answered and by make and model. What belongs to a board that is no longer the
machine's, or to the shop's known-good machine, is named ``board 1/…`` and
``bench/…``.

The answers of a run (``records.answers``) say what no identity shows: which part is there
now, what was cleaned, re-flashed or repaired, that the board is another one.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import msgspec

from livecheck.diagnosis.identity import other_board, trusted
from livecheck.records import (
    Answer,
    BoardReplaced,
    CleanedPart,
    FirmwareFlashed,
    FirstPartBack,
    Part,
    PartIs,
    Place,
    Presence,
    Record,
    RepairedPart,
    Run,
)

EXPECTED: Final = {
    "sata-port": "drive",
    "memory-slot": "memory-module",
    "pcie-slot": "expansion-card",
    "battery-bay": "battery",
    "power-jack": "adapter",
    "card-slot": "sd-card",
    "usb-port": "usb-device",
    "cooling-mount": "cooling",
    "processor-socket": "processor",
    "panel-connector": "panel",
}
"""Kind of part a kind of place is made for, where the place does not say."""


class Fitting(Record, frozen=True, kw_only=True):
    """What was fitted in one run."""

    run: Run
    board: str
    """Scope of what belongs to the board: ``""``, ``board 1/``, ``bench/``."""
    parts: dict[str, str]
    """Place id -> key of the part in it; places with nothing in them are left out."""
    keys: dict[str, str]
    """Part id of this run's inventory -> key."""
    unseen: frozenset[str] = frozenset()
    """Places where a part must be and nothing answers."""
    seatings: dict[str, int] = msgspec.field(default_factory=dict)
    """Place id -> how many times its part had been put in anew before, by this case's runs."""
    treated: dict[str, int] = msgspec.field(default_factory=dict)
    """Component id or key -> how many times it had been cleaned, re-flashed or repaired."""
    vouched: frozenset[str] = frozenset()
    """Keys of parts the shop vouches for."""

    def scoped(self, component: str) -> str:
        """The id over all runs of a place or controller, or of the board's own things."""
        return component if component == "software" else self.board + component


def fittings(runs: Sequence[Run], spares: frozenset[str] = frozenset()) -> tuple[Fitting, ...]:
    """One Fitting a run, in order of run number."""
    ordered = sorted(runs, key=lambda run: run.number)
    boards = _boards(ordered)
    found: list[Fitting] = []
    home: Fitting | None = None
    names = _Named()
    for run, board in zip(ordered, boards, strict=True):
        fitted = _fitted(run, board, home, found, names, spares)
        found.append(fitted)
        if not run.elsewhere:
            home = fitted
    return _joined(tuple(found))


def _boards(runs: Sequence[Run]) -> list[str]:
    """The scope of each run's board; the machine's present board has none."""
    numbers: list[int | None] = []
    current, last = 1, None
    for run in runs:
        if run.elsewhere:
            numbers.append(None)
            continue
        told = any(isinstance(answer, BoardReplaced) for answer in run.answers)
        if last is not None and (told or other_board(last, run.inventory.machine)):
            current += 1
        last = run.inventory.machine
        numbers.append(current)
    return ["bench/" if n is None else "" if n == current else f"board {n}/" for n in numbers]


def _fitted(
    run: Run,
    board: str,
    home: Fitting | None,
    earlier: Sequence[Fitting],
    names: _Named,
    spares: frozenset[str],
) -> Fitting:
    before = None if run.elsewhere else home
    _note_names(run, board, earlier, names)
    identities = trusted(run.inventory.parts)
    vouchers = spares | set(run.known_good)
    keys = {p.id: _key(p, board, p.id in identities, before, names) for p in run.inventory.parts}
    parts = {p.place: keys[p.id] for p in run.inventory.parts if p.place}
    silent = _silent(run, board, parts, before, names, set(identities.values()))
    parts.update(silent)
    good = {keys[p] for p, identity in identities.items() if identity in vouchers}
    good |= {k for k in parts.values() if k in vouchers or k.partition(":")[2] in vouchers}
    good |= names.known_good & set(parts.values())
    return Fitting(
        run=run,
        board=board,
        parts=parts,
        keys=keys,
        unseen=frozenset(silent),
        seatings=_seatings(run, parts, before),
        treated=_treated(run, before, keys),
        vouched=frozenset(good),
    )


class _Named:
    """Parts without an identity that the technician told of, over all runs so far."""

    def __init__(self) -> None:
        self.keys: dict[str, str] = {}
        """Scoped place id -> key of the part that is there."""
        self.known_good: set[str] = set()
        """Keys of those the shop vouches for."""


def _note_names(run: Run, board: str, earlier: Sequence[Fitting], names: _Named) -> None:
    """Take this run's answers into ``names``."""
    for answer in run.answers:
        if isinstance(answer, FirstPartBack):
            here = (fitted.parts.get(answer.place) for fitted in earlier)
            first = next((key for key in here if key is not None), None)
            if first is not None:
                names.keys[board + answer.place] = first
        elif isinstance(answer, PartIs):
            key = answer.key or f"{_kind_at(answer.place, run)}:{answer.name}"
            names.keys[board + answer.place] = key
            if answer.known_good:
                names.known_good.add(key)


def _kind_at(place_id: str, run: Run) -> str:
    """Kind of the part in a place, else of the one it is made for."""
    fitted = (part.kind for part in run.inventory.parts if part.place == place_id)
    made_for = (expected(place) for place in run.inventory.places if place.id == place_id)
    return next(fitted, None) or next(made_for, "part")


def _key(part: Part, board: str, identified: bool, before: Fitting | None, names: _Named) -> str:
    if identified:
        return part.id
    named = names.keys.get(board + part.place)
    if named is not None:
        return named
    scope = board if board == "bench/" or part.soldered else ""
    plain = f"{scope}{part.kind}@{part.place}"
    old = _same_place(part, before)
    if old is None or before is None or _look(old) == _look(part):
        return before.keys[old.id] if old is not None and before is not None else plain
    look = " ".join(word for word in _look(part) if word)
    return f"{plain} ({look})"


def _same_place(part: Part, before: Fitting | None) -> Part | None:
    """What the run before had in this part's place, when it too carried no identity."""
    if before is None:
        return None
    known = trusted(before.run.inventory.parts)
    for old in before.run.inventory.parts:
        if old.place == part.place and old.kind == part.kind and old.id not in known:
            return old
    return None


def _look(part: Part) -> tuple[str, ...]:
    """What tells apart two parts without identity; unknown words are no difference."""
    return tuple((word or "").strip() for word in (part.vendor, part.model))


def _silent(
    run: Run,
    board: str,
    parts: dict[str, str],
    before: Fitting | None,
    names: _Named,
    seen: set[str],
) -> dict[str, str]:
    """Place -> key of the part that must be there and does not answer."""
    places = [
        p
        for p in run.inventory.places
        if p.presence is Presence.NOTHING_ANSWERS and p.id not in parts
    ]
    invisible = [name for name in run.known_good if name not in seen and name not in parts.values()]
    keys: dict[str, str] = {}
    for place in places:
        kind = expected(place)
        old = before.parts.get(place.id) if before else None
        if (named := names.keys.get(board + place.id)) is not None:
            keys[place.id] = named
        elif len(places) == 1 and len(invisible) == 1:
            # A spare the technician vouches for is fitted and not seen: it must be here.
            keys[place.id] = f"{kind}:{invisible[0].partition(':')[2] or invisible[0]}"
        elif old is not None and old not in parts.values():
            keys[place.id] = old
        else:
            keys[place.id] = f"{board if run.elsewhere else ''}{kind}@{place.id}"
    return keys


def expected(place: Place) -> str:
    """Kind of part this place is made for."""
    return place.expects or EXPECTED.get(place.kind, "expansion-card")


def _seatings(run: Run, parts: dict[str, str], before: Fitting | None) -> dict[str, int]:
    if before is None:
        return dict.fromkeys(parts, 0)
    touched = set(run.reseated)
    return {
        place: before.seatings.get(place, 0)
        + (place in touched or before.parts.get(place, key) != key or place not in before.parts)
        for place, key in parts.items()
    }


def _treated(run: Run, before: Fitting | None, keys: dict[str, str]) -> dict[str, int]:
    counts = dict(before.treated) if before else {}
    for answer in run.answers:
        about = _treated_by(answer)
        if about is not None:
            own = keys.get(about, about)
            counts[own] = counts.get(own, 0) + 1
    return counts


def _treated_by(answer: Answer) -> str | None:
    """Id of the component whose fault the answer says is gone, if any."""
    match answer:
        case CleanedPart(part=part):
            return part
        case RepairedPart(component=component):
            return component
        case FirmwareFlashed():
            return "firmware"
    return None


def _joined(found: tuple[Fitting, ...]) -> tuple[Fitting, ...]:
    """Give a part that did not answer its name where a reseat brought it to light.

    Or where it answers when it is back in its place after a part the shop vouches for.
    """
    other: dict[str, str] = {}
    home = [fitted for fitted in found if not fitted.run.elsewhere]
    waiting: dict[str, str] = {}
    for before, after in pairwise(home):
        for place in before.unseen:
            if "@" in before.parts[place]:
                waiting[place] = before.parts[place]
        for place, key in list(waiting.items()):
            now = after.parts.get(place)
            if now is None or now == key or now in after.vouched or place in after.unseen:
                continue
            spare = before.parts.get(place) in before.vouched
            known = any(now in fitted.parts.values() for fitted in home[: home.index(after)])
            if place in after.run.reseated or (spare and not known):
                other[key] = now
            del waiting[place]
    if not other:
        return found
    return tuple(_renamed(fitted, other) for fitted in found)


def _renamed(fitted: Fitting, other: dict[str, str]) -> Fitting:
    return Fitting(
        run=fitted.run,
        board=fitted.board,
        parts={place: other.get(key, key) for place, key in fitted.parts.items()},
        keys={part: other.get(key, key) for part, key in fitted.keys.items()},
        unseen=fitted.unseen,
        seatings=fitted.seatings,
        treated=fitted.treated,
        vouched=fitted.vouched,
    )
