"""From readings to factors: which components each check exercised, and what came of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import msgspec

from livecheck.diagnosis.components import FIRMWARE, MAINBOARD, SOFTWARE, Graph, Path, Paths
from livecheck.diagnosis.fitting import Fitting
from livecheck.records import Blame, Check, Knowledge, Outcome, Reading, Record, Run


class Exercise(Record, frozen=True, kw_only=True):
    """One judged reading and the components that could have made it fail."""

    run: int
    reading: Reading
    members: tuple[tuple[int, float], ...]
    """(Index of a component, its detect), by index."""
    false_alarm: float
    direct: bool = False
    spot: str = ""
    """What it was read at, over all runs: the part's key, else the id of what stays."""
    kin: str = ""
    """Name shared by checks that look at the same events."""
    event: bool = False
    """True: a false alarm of it does not stay from run to run."""
    covered: float = 1.0
    """Share of its faults that what was looked at could show."""

    @property
    def failed(self) -> bool:
        """True: the check failed."""
        return self.reading.outcome is Outcome.FAILED


class Factor(Record, frozen=True, kw_only=True):
    """Readings of one check and run that exercised the same components: equal evidence."""

    members: tuple[int, ...]
    misses: tuple[float, ...]
    """1 - detect, in the order of ``members``."""
    false_alarm: float
    fails: int
    passes: int
    check: str = ""
    """Name of the check."""
    kin: str = ""
    """Name shared by checks that look at the same events; empty: the check's own."""
    event: bool = False
    """True: a false alarm of it does not stay from run to run."""
    spot: str = ""
    run: int = 0
    covered: float = 1.0
    """Share of the faults that what was looked at could show."""


def exercises(runs: Sequence[Run], graph: Graph, knowledge: Knowledge) -> tuple[Exercise, ...]:
    """Every judged reading whose check the table knows, in order of runs."""
    by_number = {fitted.run.number: fitted for fitted in graph.fittings}
    paths = {number: Paths(fitted, graph) for number, fitted in by_number.items()}
    found: list[Exercise] = []
    for run in sorted(runs, key=lambda one: one.number):
        seen: dict[tuple[str, str, int], tuple[tuple[int, float], ...]] = {}
        for reading in run.readings:
            check = knowledge.checks.get(reading.check)
            if check is None or reading.outcome is Outcome.NOT_JUDGED:
                continue
            # How a start ended is found by the next one, where other parts may be fitted.
            number = reading.of_run if reading.of_run in by_number else run.number
            key = (reading.check, reading.at, number)
            if key not in seen:
                seen[key] = members(check, reading.at, paths[number], graph)
            found.append(
                Exercise(
                    run=number,
                    reading=reading,
                    members=seen[key],
                    false_alarm=check.false_alarm,
                    direct=check.direct,
                    spot=spot(by_number[number], reading.at),
                    kin=check.kin,
                    event=check.event,
                    covered=covered(check, reading),
                )
            )
    return tuple(_met_again(found, graph))


def _met_again(found: Sequence[Exercise], graph: Graph) -> Iterator[Exercise]:
    """What showed in a part's samples lies where the same samples meet it again."""
    keys = {key for fitted in graph.fittings for key in fitted.parts.values()}
    met = {(one.reading.check, one.spot) for one in found if one.failed and one.spot in keys}
    for one in found:
        again = one.covered < 1.0 and (one.reading.check, one.spot) in met
        yield msgspec.structs.replace(one, covered=1.0) if again else one


def covered(check: Check, reading: Reading) -> float:
    """Share of a check's faults that a reading could show: some of what it did not look at.

    Of the faults that sit in one spot the share that was looked at is met, of the others all.
    """
    if reading.covered is None:
        return 1.0
    share = min(max(reading.covered, 0.0), 1.0)
    return check.anywhere + (1.0 - check.anywhere) * share


def spot(fitted: Fitting, at: str) -> str:
    """What a reading was taken at, over all runs: a part wherever it sits, else what stays."""
    key = fitted.keys.get(at, fitted.parts.get(at, at))
    return key if key in fitted.parts.values() else fitted.scoped(key)


def members(check: Check, at: str, paths: Paths, graph: Graph) -> tuple[tuple[int, float], ...]:
    """(Index, detect) of every component that could make ``check`` fail at ``at``."""
    path = paths.of(at)
    detects: dict[int, float] = {}
    told = any(row.who == "contact" for row in check.blames)
    for row in check.blames:
        named = _named(row, path, paths, graph)
        if row.who == "place" and not told and not _bare(check):
            # A bad contact is felt where a bad place would be: between the two.
            named = (*named, *path.contact)
        for own in named:
            number = graph.index[own]
            detects[number] = max(detects.get(number, 0.0), row.detect)
    return tuple(sorted(detects.items()))


def _bare(check: Check) -> bool:
    """True for a direct look at a place, such as a meter on a jack, that no part takes part in."""
    return check.direct and all(row.who != "part" for row in check.blames)


def _named(row: Blame, path: Path, paths: Paths, graph: Graph) -> tuple[str, ...]:
    """Ids of the components a row of the check table means on a path."""
    who = row.who
    if who == "part":
        return path.part
    if who in ("place", "controller", "upstream", "contact"):
        return tuple(getattr(path, who))
    if who in (MAINBOARD, FIRMWARE):
        return paths.mainboard(who)
    if who == SOFTWARE:
        return (SOFTWARE,) if SOFTWARE in graph.index else ()
    scope, _, kind = who.partition(":")
    if scope == "kind":
        return paths.of_kind(kind)
    if scope == "path":
        whole = (*path.part, *path.place, *path.controller, *path.upstream, *paths.mainboard())
        return tuple(own for own in whole if graph.at(own).kind == kind)
    return ()


def factors(found: Sequence[Exercise]) -> tuple[Factor, ...]:
    """Equal evidence counted together."""
    counts: dict[tuple[int, str, str, tuple[tuple[int, float], ...], float], list[int]] = {}
    seen: dict[str, Exercise] = {}
    for one in found:
        check = one.reading.check
        tally = counts.setdefault((one.run, check, one.spot, one.members, one.covered), [0, 0])
        tally[0 if one.failed else 1] += 1
        seen[check] = one
    return tuple(
        Factor(
            members=tuple(number for number, _ in pairs),
            misses=tuple(1.0 - detect for _, detect in pairs),
            false_alarm=seen[check].false_alarm,
            fails=fails,
            passes=passes,
            check=check,
            kin=seen[check].kin,
            event=seen[check].event,
            spot=at,
            run=run,
            covered=part,
        )
        for (run, check, at, pairs, part), (fails, passes) in counts.items()
    )
