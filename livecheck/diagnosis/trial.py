"""What a changed configuration would show: predicted outcomes under the posterior.

A trial is a hypothetical Fitting; the same code that says what a real reading
exercised says what the trial would exercise. Faults persist through the change,
as in Breese & Heckerman (1996), so a trial is an observation of the same faults
through other parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import msgspec

from livecheck.diagnosis import blame
from livecheck.diagnosis.blame import Exercise
from livecheck.diagnosis.components import Graph, Paths
from livecheck.diagnosis.fitting import Fitting
from livecheck.diagnosis.likelihood import Likelihood
from livecheck.diagnosis.steady import Look
from livecheck.records import Check, Knowledge, Record

Sets = Sequence[tuple[tuple[int, ...], float]]
ANEW = 1000
"""Seating number of a contact nobody has seen yet."""
_SITES = 2
_MEANT = 0.25
"""A failure that less likely than this to come from a fault is nothing to work on."""


class Symptom(Record, frozen=True, kw_only=True):
    """Where something failed: a place, a controller or the whole machine."""

    at: str
    checks: tuple[str, ...]
    covered: tuple[float, ...] = ()
    """Share of its faults each check could show when it was read there; empty: all of them."""


class Site(Record, frozen=True, kw_only=True):
    """One spot a trial looks at, and what could make it fail there."""

    at: str
    misses: dict[int, float]
    """Component -> chance that its fault does not show."""
    false_alarm: float
    again: float | None = None
    """Chance of an alarm that was false before too; for sets without any of ``could``."""
    could: frozenset[int] = frozenset()
    """Components that the failures so far at this spot could come from."""
    cured: float = 1.0
    """Chance that the treatment takes, for a treatment that may not."""
    untreated: dict[int, float] = msgspec.field(default_factory=dict)
    """Misses that hold where it did not."""

    def fails(self, members: tuple[int, ...]) -> float:
        """Chance of failing when these are the faults."""
        chance = self._once(members, self.misses)
        if self.cured < 1.0:
            rest = self._once(members, self.untreated)
            chance = self.cured * chance + (1.0 - self.cured) * rest
        return chance

    def _once(self, members: tuple[int, ...], misses: dict[int, float]) -> float:
        stays = self.again is not None and self.could.isdisjoint(members)
        quiet = 1.0 - (self.again or 0.0) if stays else 1.0 - self.false_alarm
        for number in members:
            quiet *= misses.get(number, 1.0)
        return 1.0 - quiet


def symptoms(
    found: Sequence[Exercise], fitted: Fitting, graph: Graph, belief: Sets
) -> tuple[Symptom, ...]:
    """What failed and is more than a false alarm, by the spot it failed at, clearest first.

    Of the present configuration, or, when nothing fails there, of the latest run
    in which something did.
    """
    home = {one.run.number for one in graph.fittings if not one.run.elsewhere}
    weights: dict[tuple[int, str, str], float] = {}
    parts: dict[str, float] = {}
    by_number = {one.run.number: one for one in graph.fittings}
    for one in found:
        if one.failed and one.members and one.run in home:
            meant = explained(one, belief)
            if meant >= _MEANT:
                key = (one.run, spot(one.reading.at, by_number[one.run]), one.reading.check)
                weights[key] = max(meant, weights.get(key, 0.0))
                parts[one.reading.check] = one.covered
    if not weights:
        return ()
    now = fitted.run.number
    last = now if any(run == now for run, _, _ in weights) else max(run for run, _, _ in weights)
    spots: dict[str, dict[str, float]] = {}
    for (run, at, check), meant in weights.items():
        if run == last:
            spots.setdefault(at, {})[check] = meant
    ranked = sorted(spots.items(), key=lambda item: (-sum(item[1].values()), item[0]))
    return tuple(
        Symptom(at=at, checks=tuple(some), covered=tuple(parts[check] for check in some))
        for at, some in ranked
    )


def explained(one: Exercise, belief: Sets) -> float:
    """Probability that a fault made this check fail, and not a false alarm."""
    detects = dict(one.members)
    share = 0.0
    for members, mass in belief:
        quiet = 1.0
        for number in members:
            quiet *= 1.0 - detects.get(number, 0.0)
        if quiet < 1.0:
            fails = 1.0 - (1.0 - one.false_alarm) * quiet
            share += mass * (1.0 - one.false_alarm / fails)
    return share


def spot(at: str, fitted: Fitting) -> str:
    """The place of the part a reading was taken at, else what it was taken at."""
    key = fitted.keys.get(at, at)
    return next((place for place, part in fitted.parts.items() if part == key), at)


def changed(
    fitted: Fitting,
    parts: dict[str, str | None],
    *,
    board: str | None = None,
    treated: str | None = None,
) -> Fitting:
    """The fitting after a change: ``parts`` maps a place to its new part, None: emptied."""
    now = {**fitted.parts, **parts}
    left = {place: key for place, key in now.items() if key is not None}
    seatings = {**fitted.seatings, **dict.fromkeys(parts, ANEW)}
    done = {**fitted.treated}
    if treated is not None:
        done[treated] = ANEW
    return msgspec.structs.replace(
        fitted,
        parts=left,
        seatings=seatings,
        treated=done,
        board=fitted.board if board is None else board,
        keys={part: key for part, key in fitted.keys.items() if key in left.values()},
    )


def site(
    at: str,
    checks: Sequence[Check],
    paths: Paths,
    graph: Graph,
    model: Likelihood,
    repeats: int = 1,
    covered: Sequence[float] = (),
) -> Site:
    """What checks made at a spot of a (hypothetical) fitting would show in ``repeats`` runs.

    ``covered``: of each check, the share of its faults it can show; empty: all of them.
    """
    looks: dict[int, list[Look]] = {}
    quiet, calm = 1.0, 1.0
    could: set[int] = set()
    for check, part in zip(checks, covered or [1.0] * len(checks), strict=True):
        quiet *= (1.0 - check.false_alarm) ** repeats
        alarm = model.alarm(check.name, blame.spot(paths.fitted, at))
        if alarm is None or not alarm.fails:
            calm *= (1.0 - check.false_alarm) ** repeats
        else:
            calm *= 1.0 - alarm.again
            could |= model.could(check.name, blame.spot(paths.fitted, at))
        for number, detect in blame.members(check, at, paths, graph):
            look = (check.name, check.kin or check.name, part * detect)
            looks.setdefault(number, []).append(look)
    return Site(
        at=at,
        misses={number: model.quiet(number, some, repeats) for number, some in looks.items()},
        false_alarm=1.0 - quiet,
        again=1.0 - calm,
        could=frozenset(could),
    )


def sites(
    seen: Sequence[Symptom],
    fitted: Fitting,
    graph: Graph,
    knowledge: Knowledge,
    model: Likelihood,
    repeats: int = 1,
) -> tuple[Site, ...]:
    """The sites at which a fitting would show the symptoms, those that are left in it."""
    paths = Paths(fitted, graph)
    found = []
    for symptom in seen[:_SITES]:
        if symptom.at in paths.places and symptom.at not in fitted.parts:
            continue
        checks = [knowledge.checks[name] for name in symptom.checks]
        found.append(
            site(symptom.at, checks, paths, graph, model, repeats, covered=symptom.covered)
        )
    return tuple(found)


class Outcome(Record, frozen=True, kw_only=True):
    """One result of a trial and the fault sets after it."""

    failed: tuple[bool, ...]
    """One for each site."""
    probability: float
    sets: tuple[tuple[tuple[int, ...], float], ...]


def outcomes(looked: Sequence[Site], belief: Sets) -> tuple[Outcome, ...]:
    """Every result with its probability under ``belief`` (fault sets, summing to 1)."""
    chances = [[one.fails(members) for members, _ in belief] for one in looked]
    found = []
    for failed in product((True, False), repeat=len(looked)):
        masses = [mass for _, mass in belief]
        for bad, column in zip(failed, chances, strict=True):
            masses = [
                mass * (chance if bad else 1.0 - chance)
                for mass, chance in zip(masses, column, strict=True)
            ]
        total = sum(masses)
        if total <= 1e-9:
            continue
        after = tuple(
            (members, mass / total) for (members, _), mass in zip(belief, masses, strict=True)
        )
        found.append(Outcome(failed=failed, probability=total, sets=after))
    return tuple(found)
