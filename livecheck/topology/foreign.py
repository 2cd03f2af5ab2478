"""Runs of another machine that came into a case: they are set aside, not judged."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.records import BoardReplaced, Run
from livecheck.topology.identity import other_board, trusted


def set_aside(runs: Sequence[Run]) -> tuple[tuple[Run, ...], tuple[int, ...]]:
    """(The case's own runs in order, numbers of those of another machine).

    Such a run names another board and shares no part with any run before it, though both
    name theirs, and nobody said that the board was replaced.
    """
    own: list[Run] = []
    strange: list[int] = []
    known: set[str] = set()
    last: Run | None = None
    for run in sorted(runs, key=lambda run: run.number):
        names = set(trusted(run.inventory.parts).values())
        if run.in_known_good_machine:
            own.append(run)
            continue
        told = any(isinstance(answer, BoardReplaced) for answer in run.answers)
        other = last is not None and other_board(last.inventory.machine, run.inventory.machine)
        if other and not told and names and known and names.isdisjoint(known):
            strange.append(run.number)
            continue
        own.append(run)
        known |= names
        last = run
    return tuple(own), tuple(strange)
