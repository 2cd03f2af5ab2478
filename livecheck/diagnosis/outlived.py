"""What a failure outlived, and what ended it: proofs that lie in the order of runs. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from livecheck.diagnosis.observations import Observation
from livecheck.records import Side
from livecheck.topology.graph import Graph

REPEATED: Final = 3
"""Assumed: runs in which a check fails that prove it where nothing can be swapped."""


def mended(number: int, graph: Graph, found: Sequence[Observation]) -> bool:
    """Whether a part that is no spare of the shop's is in its place, and passes what it failed."""
    own = graph.components[number]
    if not graph.home or own.side is not Side.DEVICE:
        return False
    now = graph.home[-1].parts
    places = (place for one in graph.home for place, part in one.parts.items() if part == own.id)
    fitted = {graph.index[now[place]] for place in places if place in now}
    if not fitted or number in fitted or any(graph.components[n].known_good for n in fitted):
        return False
    same = graph.numbers_as_now
    failed = {one.reading.check for one in found if one.failed and number in dict(one.members)}
    again = [one for one in found if one.run in same and one.reading.check in failed]
    passed = any(not one.failed and fitted & {n for n, _ in one.members} for one in again)
    return passed and not any(one.failed for one in again)


def survived(number: int, graph: Graph, found: Sequence[Observation]) -> bool:
    """True when a failure blamed on this component outlived a swap, or is direct.

    Outlived: a later check looked at it too and failed, and one of the parts the earlier could
    have come from was no longer among the possible causes; or that part passed the same
    check in another machine. A failure elsewhere on the board is no such failure.
    """
    fails = [one for one in found if one.failed and number in dict(one.members)]
    if any(one.direct for one in fails):
        return True
    parts = [_parts(one, graph) for one in fails]
    if _nothing_to_swap(fails, parts):
        return True
    for early, before in zip(fails, parts, strict=True):
        for late, after in zip(fails, parts, strict=True):
            same_check = early.reading.check == late.reading.check
            if late.run > early.run and same_check and before - after:
                return True
    return _passed_elsewhere(fails, parts, graph, found)


def _nothing_to_swap(fails: Sequence[Observation], parts: Sequence[set[int]]) -> bool:
    """Whether a check failed time and again that no part that comes out could explain."""
    runs: dict[str, set[int]] = {}
    for one, suspects in zip(fails, parts, strict=True):
        if not suspects and not one.finding:
            runs.setdefault(one.reading.check, set()).add(one.run)
    return any(len(some) >= REPEATED for some in runs.values())


def _parts(one: Observation, graph: Graph) -> set[int]:
    return {n for n, _ in one.members if graph.components[n].side is Side.DEVICE}


def _passed_elsewhere(
    fails: Sequence[Observation],
    parts: Sequence[set[int]],
    graph: Graph,
    found: Sequence[Observation],
) -> bool:
    bench = {one.run.number for one in graph.configurations if one.in_known_good_machine}
    rests = {(one.reading.check, one.read_at) for one in found
             if not one.failed and one.run not in bench}  # fmt: skip
    for one in found:
        # What comes and goes in the machine may only rest in the other.
        if one.run not in bench or one.failed or (one.reading.check, one.read_at) in rests:
            continue
        cleared = _parts(one, graph)
        for fail, suspects in zip(fails, parts, strict=True):
            if fail.reading.check == one.reading.check and suspects & cleared:
                return True
    return False


def began(found: Sequence[Observation], graph: Graph) -> dict[int, int]:
    """Part -> run in which a check failed at it that had passed before."""
    passed: set[tuple[str, str]] = set()
    first: dict[int, int] = {}
    for one in found:
        key = (one.reading.check, one.read_at)
        if not one.failed:
            passed.add(key)
        elif key in passed:
            for number, _ in one.members:
                if graph.components[number].side is Side.DEVICE:
                    first.setdefault(number, one.run)
    return first
