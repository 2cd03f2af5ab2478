"""What a changed configuration would show: predicted results under the posterior.

A trial is a hypothetical configuration; the same code that says what a real reading
looked at says what the trial would look at. Faults persist through the change,
as in Breese & Heckerman (1996), so a trial is an observation of the same faults
through other parts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import product

import msgspec

from livecheck.diagnosis.complaint import signs
from livecheck.diagnosis.model.likelihood import Likelihood
from livecheck.diagnosis.model.permanent import Look
from livecheck.diagnosis.model.windows import ANEW, cured_by_trial
from livecheck.diagnosis.observations import OUTSIDE, Observation, members
from livecheck.records import Check, Record
from livecheck.topology.configuration import Configuration
from livecheck.topology.graph import Graph
from livecheck.topology.ids import ComponentId
from livecheck.topology.paths import Paths

Sets = Sequence[tuple[tuple[int, ...], float]]
"""Fault sets with their probabilities."""
_TESTS = 2


class Symptom(Record, frozen=True, kw_only=True):
    """Where something failed: a place, a controller or the whole machine."""

    at: str
    checks: tuple[str, ...]
    covered: tuple[float, ...] = ()
    """Share of its faults each check could show when it was read there; empty: all of them."""


class PredictedTest(Record, frozen=True, kw_only=True):
    """What a trial looks at in one place, and what could make it fail there."""

    at: str
    misses: dict[int, float]
    """Component -> chance that its fault does not show."""
    false_alarm: float
    again: float | None = None
    """Chance of an alarm that was false before too; for sets without any of ``could``."""
    could: frozenset[int] = frozenset()
    """Components that the failures so far at this point could come from."""

    def fails(self, faults: tuple[int, ...]) -> float:
        """Chance of failing when these are the faults."""
        stays = self.again is not None and self.could.isdisjoint(faults)
        missed = 1.0 - (self.again or 0.0) if stays else 1.0 - self.false_alarm
        for number in faults:
            missed *= self.misses.get(number, 1.0)
        return 1.0 - missed


def symptoms(
    found: Sequence[Observation], graph: Graph, belief: Sets, wanted: frozenset[int]
) -> tuple[Symptom, ...]:
    """What failed and is more than a false alarm, by where it failed, clearest first.

    Of the present configuration, or, when nothing fails there, of the latest run
    in which something did. ``wanted``: components looked into.
    """
    home = {one.run.number: one for one in graph.home}
    weights: dict[tuple[int, str, str], float] = {}
    parts: dict[str, float] = {}
    for one, meant in signs(found, belief, wanted) or _seen_outside(found):
        if one.run in home:
            at = _where(one.reading.at, home[one.run])
            key = (one.run, at, one.reading.check)
            weights[key] = max(meant, weights.get(key, 0.0))
            parts[one.reading.check] = one.covered
    if not weights:
        return ()
    now = max(home)
    last = now if any(run == now for run, _, _ in weights) else max(run for run, _, _ in weights)
    points: dict[str, dict[str, float]] = {}
    for (run, at, check), meant in weights.items():
        if run == last:
            points.setdefault(at, {})[check] = meant
    ranked = sorted(points.items(), key=lambda item: (-sum(item[1].values()), item[0]))
    return tuple(
        Symptom(at=at, checks=tuple(some), covered=tuple(parts[check] for check in some))
        for at, some in ranked
    )


def _seen_outside(found: Sequence[Observation]) -> list[tuple[Observation, float]]:
    """With no other sign, the complaint itself, once it was seen outside the installed system."""
    return [(one, 1.0) for one in found if one.failed and one.reading.check == OUTSIDE]


def _where(at: str, now: Configuration) -> str:
    """The place of the part a reading was taken at, else what it was taken at."""
    part = now.part_at(at)
    return (now.home(part) if part is not None else None) or at


def changed(
    now: Configuration,
    parts: Mapping[str, ComponentId | None],
    treated: ComponentId | None = None,
) -> Configuration:
    """The configuration after a change: ``parts``: place -> its new part, None: emptied."""
    left = {place: part for place, part in {**now.parts, **parts}.items() if part is not None}
    done = {**now.treated}
    if treated is not None:
        done[treated] = ANEW
    return msgspec.structs.replace(
        now,
        parts=left,
        seatings={**now.seatings, **dict.fromkeys(parts, ANEW)},
        treated=done,
        ids={own: part for own, part in now.ids.items() if part in left.values()},
    )


class Prediction:
    """A (hypothetical) configuration, and what checks would show in it."""

    def __init__(self, now: Configuration, graph: Graph, model: Likelihood) -> None:
        self._now = now
        self._paths = Paths(now, graph)
        self._model = model

    def test(
        self, at: str, checks: Sequence[Check], covered: Sequence[float] = (), repeats: int = 1
    ) -> PredictedTest:
        """What checks made at a point would show in ``repeats`` runs.

        ``covered``: of each check, the share of its faults it can show; empty: all of them.
        """
        looks: dict[int, list[Look]] = {}
        sound, calm = 1.0, 1.0
        could: set[int] = set()
        point = str(self._now.test_point(at))
        for check, part in zip(checks, covered or [1.0] * len(checks), strict=True):
            sound *= (1.0 - check.false_alarm) ** repeats
            again = self._model.again(check.name, point)
            if again is None:
                calm *= (1.0 - check.false_alarm) ** repeats
            else:
                calm *= 1.0 - again
                could |= self._model.could(check.name, point)
            for number, detect in members(check, at, self._paths):
                look = (check.name, check.symptom_group or check.name, part * detect)
                looks.setdefault(number, []).append(look)
        return PredictedTest(
            at=at,
            misses={number: self._missed(number, some, repeats) for number, some in looks.items()},
            false_alarm=1.0 - sound,
            again=1.0 - calm,
            could=frozenset(could),
        )

    def _missed(self, number: int, looks: Sequence[Look], repeats: int) -> float:
        """Chance that a fault does not show, for the trial itself may cure it."""
        graph = self._paths.graph
        cured = cured_by_trial(self._now, graph.components[number], graph.parameters)
        return cured + (1.0 - cured) * self._model.miss_probability(number, looks, repeats)

    def tests(
        self, seen: Sequence[Symptom], checks: Mapping[str, Check], repeats: int = 1
    ) -> tuple[PredictedTest, ...]:
        """What would show the symptoms, those that are left in this configuration."""
        return tuple(
            self.test(one.at, [checks[name] for name in one.checks], one.covered, repeats)
            for one in seen[:_TESTS]
            if one.at not in self._paths.places or one.at in self._now.parts
        )


class PredictedResult(Record, frozen=True, kw_only=True):
    """One result of a trial and the fault sets after it."""

    failed: tuple[bool, ...]
    """One for each test."""
    probability: float
    sets: tuple[tuple[tuple[int, ...], float], ...]


def results(tests: Sequence[PredictedTest], belief: Sets) -> tuple[PredictedResult, ...]:
    """Every result with its probability under ``belief`` (fault sets, summing to 1)."""
    chances = [[one.fails(faults) for faults, _ in belief] for one in tests]
    found = []
    for failed in product((True, False), repeat=len(tests)):
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
            (faults, mass / total) for (faults, _), mass in zip(belief, masses, strict=True)
        )
        found.append(PredictedResult(failed=failed, probability=total, sets=after))
    return tuple(found)
