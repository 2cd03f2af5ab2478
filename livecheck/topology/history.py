"""The configurations of a case, run by run: one id for each part, whatever tells who it is.

A part keeps one id over all runs: its own where its identity can be believed, else the
place it was seen in, told apart by what the technician answered (``records.answers``) and
by make and model. What belongs to a board that is no longer the machine's, or to the
shop's known-good machine, has a scope of its own.
"""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from livecheck.records import (
    AllPowerAway,
    Answer,
    BoardReplaced,
    CleanedPart,
    FirmwareFlashed,
    FirstPartBack,
    Part,
    PartIs,
    Place,
    Presence,
    RepairedPart,
    Run,
    SettingPutRight,
)
from livecheck.topology.called import named
from livecheck.topology.configuration import Configuration, made_for
from livecheck.topology.identity import fixed_as, looks, other_board, trusted, without_scheme
from livecheck.topology.ids import FIRMWARE, HUNG, IN_KNOWN_GOOD, SETTING, SOFTWARE, ComponentId
from livecheck.topology.joining import joined


def configurations(
    runs: Sequence[Run], spares: frozenset[str] = frozenset()
) -> tuple[Configuration, ...]:
    """One Configuration a run, in order of run number.

    ``spares``: identities of parts the shop vouches for, beside those the runs name.
    """
    ordered = named(sorted(runs, key=lambda run: run.number))
    past = _Past(spares)
    for run, scope in zip(ordered, _scopes(ordered), strict=True):
        past.add(_Present(past, run, scope).configuration())
    return joined(tuple(past.found))


def _scopes(runs: Sequence[Run]) -> list[str]:
    """The scope of each run's board; the machine's present board has none."""
    numbers: list[int | None] = []
    current, last = 1, None
    for run in runs:
        if run.in_known_good_machine:
            numbers.append(None)
            continue
        told = any(isinstance(answer, BoardReplaced) for answer in run.answers)
        if last is not None and (told or other_board(last, run.inventory.machine)):
            current += 1
        last = run.inventory.machine
        numbers.append(current)
    return [IN_KNOWN_GOOD if n is None else "" if n == current else f"board {n}" for n in numbers]


class _Past:
    """What the runs so far told of the case's parts."""

    def __init__(self, spares: frozenset[str]) -> None:
        self.spares = spares
        self.found: list[Configuration] = []
        self.home: Configuration | None = None
        """The machine itself, as it was last."""
        self.told: dict[tuple[str, str], ComponentId] = {}
        """(Scope, place) -> part without an identity that the technician named."""
        self.known_good: set[ComponentId] = set()
        """Those of them that the shop vouches for."""

    def add(self, configuration: Configuration) -> None:
        """Take in the next run. What was told of a place holds until another part answers there."""
        self.found.append(configuration)
        scope = configuration.scope
        for place, part in configuration.parts.items():
            if place not in configuration.unseen and self.told.get(at := (scope, place)) != part:
                self.told.pop(at, None)
        if not configuration.in_known_good_machine:
            self.home = configuration

    def first_in(self, place: str) -> ComponentId | None:
        """The part that was in a place first."""
        return next((one.parts[place] for one in self.found if place in one.parts), None)

    def by_text(self, text: str) -> ComponentId | None:
        """The part that was seen under this id before."""
        seen = (part for one in self.found for part in one.parts.values())
        return next((part for part in seen if str(part) == text), None)


class _Present:
    """One run, in the light of those before it."""

    def __init__(self, past: _Past, run: Run, scope: str) -> None:
        self._past, self._run, self._scope = past, run, scope
        self._before = None if run.in_known_good_machine else past.home
        self._identities = trusted(run.inventory.parts)
        self._places = {place.id: place for place in run.inventory.places}
        for answer in run.answers:
            self._note(answer)

    def configuration(self) -> Configuration:
        """What was where in this run."""
        present = self._run.inventory.parts
        ids = {part.id: self._part(part) for part in present}
        parts = {part.place: ids[part.id] for part in present if part.place}
        silent = self._silent(parts)
        parts |= silent
        kinds = {own: self._kind_at(place) for place, own in parts.items()}
        kinds |= {ids[part.id]: part.kind for part in present}
        return Configuration(
            run=self._run,
            scope=self._scope,
            parts=parts,
            ids=ids,
            kinds=kinds,
            unseen=frozenset(silent),
            unsure=frozenset(place for place in silent if self._unsure(place)),
            seatings=self._seatings(parts),
            treated=self._treated(ids),
            known_good=self._known_good(ids, parts),
        )

    def _note(self, answer: Answer) -> None:
        """Remember which part the technician says is where."""
        if isinstance(answer, FirstPartBack):
            first = self._past.first_in(answer.place)
            if first is not None:
                self._past.told[self._scope, answer.place] = first
        elif isinstance(answer, PartIs):
            part = self._named(answer)
            self._past.told[self._scope, answer.place] = part
            if answer.known_good:
                self._past.known_good.add(part)

    def _named(self, answer: PartIs) -> ComponentId:
        """The part an answer means: one seen before, one that was never seen, a new one."""
        if answer.key is None:
            return ComponentId(key=f"{self._kind_at(answer.place)}:{answer.name}")
        unseen = (
            ComponentId(kind=kind, place=place)
            for place in self._places
            for kind in (self._kind_at(place), made_for(self._places[place]))
        )
        meant = (part for part in unseen if str(part) == answer.key)
        return self._past.by_text(answer.key) or next(meant, ComponentId(key=answer.key))

    def _kind_at(self, place: str) -> str:
        """Kind of the part in a place, else of the one it is made for."""
        fitted = (part.kind for part in self._run.inventory.parts if part.place == place)
        record = self._places.get(place)
        return next(fitted, None) or (made_for(record) if record is not None else "part")

    def _part(self, part: Part) -> ComponentId:
        if part.soldered:
            return self._soldered(part)
        if part.id in self._identities:
            return ComponentId(key=part.id)
        named = self._past.told.get((self._scope, part.place))
        if named is not None:
            return named
        own = self._scope if self._run.in_known_good_machine else ""
        if not part.place:
            return ComponentId(scope=own, key=part.id)
        plain = ComponentId(scope=own, kind=part.kind, place=part.place)
        if self._before is None or (old := self._unidentified(part, self._before)) is None:
            return plain
        if looks(old) == looks(part):
            return self._before.ids[old.id]
        return msgspec.structs.replace(plain, key=" ".join(word for word in looks(part) if word))

    def _soldered(self, part: Part) -> ComponentId:
        """It stays as long as its board does, whatever it says of itself."""
        before = self._before
        if before is None or before.scope != self._scope:
            return ComponentId(scope=self._scope, key=part.id)
        if part.id in before.ids:
            return before.ids[part.id]
        present = self._run.inventory.parts
        here = {one.id for one in present}
        gone = [old for old in before.run.inventory.parts if old.id not in here]
        alike = [old for old in gone if fixed_as(old, part)]
        new = [one for one in present if one.id not in before.ids and fixed_as(one, part)]
        if len(alike) == len(new) == 1:
            return before.ids[alike[0].id]
        return ComponentId(scope=self._scope, key=part.id)

    @staticmethod
    def _unidentified(part: Part, before: Configuration) -> Part | None:
        """What the run before had in this part's place, when it too carried no identity."""
        known = trusted(before.run.inventory.parts)
        alike = (
            old
            for old in before.run.inventory.parts
            if (old.place, old.kind) == (part.place, part.kind) and old.id not in known
        )
        return next(alike, None)

    def _silent(self, parts: dict[str, ComponentId]) -> dict[str, ComponentId]:
        """Place -> part that must be there and does not answer."""
        places = [
            place
            for place in self._places.values()
            if place.presence is Presence.NOTHING_ANSWERS and place.id not in parts
        ]
        seen = {*self._identities.values(), *map(str, parts.values())}
        invisible = [name for name in self._run.known_good if name not in seen]
        # A spare the technician vouches for is fitted and not seen: it must be here.
        spare = without_scheme(invisible[0]) if len(places) == len(invisible) == 1 else None
        return {place.id: self._silent_part(place, spare, parts) for place in places}

    def _silent_part(
        self, place: Place, spare: str | None, parts: dict[str, ComponentId]
    ) -> ComponentId:
        named = self._past.told.get((self._scope, place.id))
        if named is not None:
            return named
        kind = made_for(place)
        if spare is not None:
            return ComponentId(key=f"{kind}:{spare}")
        old = self._before.parts.get(place.id) if self._before is not None else None
        first = self._past.first_in(place.id)
        if first is not None and old != first and self._unsure(place.id):
            # A spare that answered is out again sooner than it is dead.
            old = first
        if old is not None and old not in parts.values():
            return old
        own = self._scope if self._run.in_known_good_machine else ""
        return ComponentId(scope=own, kind=kind, place=place.id)

    def _unsure(self, place: str) -> bool:
        """Whether the silent part may be another than that of the run before.

        The part there answered and was the shop's, and nobody told of a change since.
        """
        before = self._before
        if before is None or (self._scope, place) in self._past.told:
            return False
        if place in before.unseen:
            return place in before.unsure
        return before.parts.get(place) in before.known_good

    def _known_good(
        self, ids: dict[str, ComponentId], parts: dict[str, ComponentId]
    ) -> frozenset[ComponentId]:
        """Parts the shop vouches for: by their identity, by name, or by an answer."""
        names = self._past.spares | set(self._run.known_good)
        good = {ids[part] for part, identity in self._identities.items() if identity in names}
        good |= self._past.known_good.intersection(parts.values())
        for place, part in parts.items():
            kind = self._kind_at(place)
            if not names.isdisjoint({str(part)}) or str(part) in {f"{kind}:{n}" for n in names}:
                good.add(part)
        return frozenset(good)

    def _seatings(self, parts: dict[str, ComponentId]) -> dict[str, int]:
        before = self._before
        if before is None:
            return dict.fromkeys(parts, 0)
        touched = set(self._run.reseated)
        return {
            place: before.seatings.get(place, 0)
            + (place in touched or before.parts.get(place) != part)
            for place, part in parts.items()
        }

    def _treated(self, ids: dict[str, ComponentId]) -> dict[ComponentId, int]:
        counts = dict(self._before.treated) if self._before is not None else {}
        for answer in self._run.answers:
            for about in _treated_by(answer):
                known = ids.get(about) or self._past.by_text(about)
                own = known or ComponentId(scope=self._scope, key=about)
                counts[own] = counts.get(own, 0) + 1
        return counts


def _treated_by(answer: Answer) -> tuple[str, ...]:
    """Ids of the components of which the answer says that one's fault is gone."""
    match answer:
        case CleanedPart(part=part):
            return (part,)
        case RepairedPart(component=component):
            return (component,)
        case FirmwareFlashed():
            return (FIRMWARE,)
        case AllPowerAway():
            return (HUNG,)
        case SettingPutRight():
            return SETTING, SOFTWARE
    return ()
