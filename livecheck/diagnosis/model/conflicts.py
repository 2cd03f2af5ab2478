"""Conflicts and minimal diagnoses: the view of a case that needs no probabilities.

A *conflict* is a set of components that cannot all be sound, given what was
seen. A *diagnosis* is a set of components whose being faulty explains every
conflict. The minimal diagnoses are the minimal hitting sets of the minimal
conflicts, and the other way round (Reiter, "A theory of diagnosis from first
principles", Artificial Intelligence 32, 1987; de Kleer & Williams, "Diagnosing
Multiple Faults", same volume). The fault model is weak: a faulty component may
do anything, also work.

Two readings of a passing check exist, and ``view`` shows both. Under the weak
model a pass clears nobody. If faults are taken to show every time, a pass
clears all it used ("exoneration"); when that leaves a failure that nobody can
explain, the fault is a contact, comes and goes, or lies between two parts, and
no part may be named.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Sequence
from typing import Final, TypeVar

import msgspec

from livecheck.diagnosis.model import spectrum
from livecheck.diagnosis.observations import Observation
from livecheck.records import Knowledge
from livecheck.topology.graph import Graph

C = TypeVar("C", bound=Hashable)

_TOLD: Final = 4
"""Diagnoses told by name; the others are counted."""

BLUNT: Final = 0.02
"""Assumed: a check with more false false alarms than this proves nothing by failing."""
SHARP: Final = 0.4
"""Assumed: a check that sees a fault less often than this clears nobody by passing."""

Sets = frozenset[frozenset[C]]


class JudgedCheck(msgspec.Struct, frozen=True, kw_only=True):
    """One check that was judged, and the components that could have made it fail."""

    name: str
    failed: bool
    looked_at: frozenset[str]


class View(msgspec.Struct, frozen=True, kw_only=True):
    """The prior-free view of a case. Sets are ordered smallest first, then by suspicion."""

    conflicts: tuple[frozenset[str], ...]
    """Minimal sets of components of which at least one is at fault."""
    diagnoses: tuple[frozenset[str], ...]
    """Minimal explanations when a pass clears nobody."""
    permanent: tuple[frozenset[str], ...]
    """Minimal explanations when faults show every time. None although something failed:
    the fault is a contact, intermittent, or an interaction."""
    unexplained: bool
    """True: something failed, and no permanent fault explains all runs."""


def minimal(family: Iterable[Collection[C]]) -> Sets[C]:
    """The sets of ``family`` that hold no other set of it."""
    kept: list[frozenset[C]] = []
    for candidate in sorted(map(frozenset, family), key=len):
        if not any(small <= candidate for small in kept):
            kept.append(candidate)
    return frozenset(kept)


def minimal_hitting_sets(family: Iterable[Collection[C]], max_size: int | None = None) -> Sets[C]:
    """Every minimal set that meets each set of ``family``, up to ``max_size`` members.

    An empty family is hit by the empty set; a family with an empty member by
    none. Sets are taken in one at a time and the result kept minimal (Berge,
    *Hypergraphs*, 1989), so labels that are no minimal conflicts do no harm:
    the trap of the original tree search (Greiner, Smith & Wilkerson 1989).
    """
    hitting: Sets[C] = frozenset({frozenset()})
    for conflict in sorted(minimal(family), key=len):
        hit = {found for found in hitting if found & conflict}
        # Only sets that grew can have become non-minimal, and only by one that already hit.
        grown = {found | {member} for found in hitting - hit for member in conflict}
        if max_size is not None:
            grown = {found for found in grown if len(found) <= max_size}
        grown = {found for found in grown if not any(small <= found for small in hit)}
        hitting = frozenset(hit) | minimal(grown)
    return hitting


def minimal_diagnoses(
    components: Collection[C], consistent: Callable[[frozenset[C]], bool]
) -> Sets[C]:
    """Every minimal set of components whose being faulty fits what was seen.

    ``consistent(sound)`` says whether what was seen fits all of ``sound`` working
    while the rest may do anything; it must be monotone (taking a component away
    never makes a fitting set unfit), as every weak fault model is. Each
    inconsistent candidate is shrunk to a minimal conflict, until no candidate is
    left that is inconsistent.
    """
    everything = frozenset(components)
    conflicts: set[frozenset[C]] = set()
    fitting: set[frozenset[C]] = set()
    while True:
        candidates = minimal_hitting_sets(conflicts)
        for candidate in candidates - fitting:
            if not consistent(everything - candidate):
                conflicts.add(_shrink(everything - candidate, consistent))
                break
            fitting.add(candidate)
        else:
            return candidates


def minimal_conflicts(
    components: Collection[C], consistent: Callable[[frozenset[C]], bool]
) -> Sets[C]:
    """Every minimal set of components that cannot all be sound; see ``minimal_diagnoses``.

    By duality the minimal hitting sets of the minimal diagnoses.
    """
    diagnoses = minimal_diagnoses(components, consistent)
    if not diagnoses:
        return frozenset({frozenset()})
    return minimal_hitting_sets(diagnoses)


def conflicts_of(checks: Iterable[JudgedCheck], *, exonerate: bool = False) -> Sets[str]:
    """The minimal conflicts in a series of checks.

    Each failed check is a conflict of all it looked at. With ``exonerate`` every
    component that took part when the same check passed is struck out (that a drive
    answers does not clear its link); an empty conflict is then a failure nobody is
    left to explain.
    """
    seen = tuple(checks)
    cleared: dict[str, frozenset[str]] = {}
    for one in seen if exonerate else ():
        if not one.failed:
            cleared[one.name] = cleared.get(one.name, frozenset()) | one.looked_at
    return minimal(o.looked_at - cleared.get(o.name, frozenset()) for o in seen if o.failed)


def judged_checks(found: Iterable[Observation], graph: Graph) -> tuple[JudgedCheck, ...]:
    """The readings of a case that may count without being weighed.

    A check that fails often on sound machines makes no conflict; a pass looks at
    only what the check seldom misses.
    """
    return tuple(
        JudgedCheck(
            name=one.reading.check,
            failed=one.failed,
            looked_at=frozenset(
                str(graph.components[number].id)
                for number, detect in one.members
                if one.failed or detect >= SHARP
            ),
        )
        for one in found
        if one.members and not (one.failed and one.false_alarm > BLUNT)
    )


def view(checks: Sequence[JudgedCheck], max_size: int | None = 3) -> View:
    """Conflicts and minimal diagnoses of up to ``max_size`` components, both ways."""
    conflicts = conflicts_of(checks)
    permanent_conflicts = conflicts_of(checks, exonerate=True)
    rank = spectrum.ochiai((o.looked_at, o.failed) for o in checks)

    def ordered(sets: Sets[str]) -> tuple[frozenset[str], ...]:
        return tuple(
            sorted(sets, key=lambda s: (len(s), -sum(rank.get(c, 0.0) for c in s), sorted(s)))
        )

    any_failed = any(o.failed for o in checks)
    permanent = minimal_hitting_sets(permanent_conflicts, max_size) if any_failed else frozenset()
    diagnoses = minimal_hitting_sets(conflicts, max_size) if any_failed else frozenset()
    return View(
        conflicts=ordered(conflicts),
        diagnoses=ordered(diagnoses),
        permanent=ordered(permanent),
        unexplained=frozenset() in permanent_conflicts,
    )


def sentence(seen: View, name: Callable[[str], str], knowledge: Knowledge) -> str:
    """The view in one sentence; ``name`` turns a component id into words."""
    say = knowledge.say
    if not seen.conflicts:
        return say("view.nothing")
    if seen.unexplained:
        return say("view.unexplained")
    if not seen.permanent:
        return say("view.more-faults")
    together = (say("view.with").join(sorted(map(name, found))) for found in seen.permanent[:_TOLD])
    said = say("view.or").join(together)
    more = len(seen.permanent) - _TOLD
    rest = say("view.further", n=more) if more > 0 else ""
    return say("view.permanent", diagnoses=said + rest)


def _shrink(conflict: frozenset[C], consistent: Callable[[frozenset[C]], bool]) -> frozenset[C]:
    """A minimal inconsistent subset: drop each member that is not needed."""
    for member in sorted(conflict, key=repr):
        if not consistent(conflict - {member}):
            conflict = conflict - {member}
    return conflict
