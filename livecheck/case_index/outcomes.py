"""Every confirmed case of a shop drive, read from the cases themselves."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from livecheck import guarded
from livecheck.casefile import CaseFolder
from livecheck.learning.lessons import Taught
from livecheck.records import DamagedRecord, Proved


def read_taught(cases: Path) -> tuple[tuple[Taught, ...], tuple[str, ...]]:
    """The cases that proved one component, with their runs, and a sentence for what is damaged.

    Cases without any outcome cost one look each. Never raises: what cannot be listed is none.
    """
    whole: list[Taught] = []
    damaged: list[str] = []
    for folder in _with_outcomes(cases):
        try:
            outcomes, broken = CaseFolder(folder).proved()
            proved = confirmed(outcomes)
            loaded = CaseFolder(folder).load() if proved is not None else None
        except (DamagedRecord, OSError) as error:
            damaged.append(f"{folder.name}: its outcomes cannot be read: {error}")
            continue
        damaged += [f"{folder.name}: {sentence}" for sentence in broken]
        if proved is not None and loaded is not None:
            whole.append(Taught(proved=proved, runs=loaded.runs))
    return tuple(whole), tuple(damaged)


def confirmed(outcomes: Iterable[Proved]) -> Proved | None:
    """The one component that a case proved, by the last word on each; None: none, or several."""
    last = {one.component: one for one in sorted(outcomes, key=lambda one: one.recorded)}
    proved = [one for one in last.values() if one.proved]
    return proved[0] if len(proved) == 1 else None


def _with_outcomes(cases: Path) -> list[Path]:
    try:
        names = guarded.folders(cases)
    except (OSError, DamagedRecord):
        return []
    return [cases / name for name in names if os.access(f"{cases}/{name}/outcomes", os.R_OK)]
