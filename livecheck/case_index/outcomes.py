"""Every confirmed outcome of a shop drive, read from the cases themselves."""

from __future__ import annotations

import os
from pathlib import Path

from livecheck import guarded
from livecheck.casefile import CaseFolder
from livecheck.records import DamagedRecord, Proved


def read_outcomes(cases: Path) -> tuple[tuple[Proved, ...], tuple[str, ...]]:
    """All outcomes in the folder of cases, and a sentence for each that is damaged.

    Cases without any cost one look each. Never raises: what cannot be listed is none.
    """
    whole: list[Proved] = []
    damaged: list[str] = []
    for folder in _with_outcomes(cases):
        try:
            proved, broken = CaseFolder(folder).proved()
        except (DamagedRecord, OSError) as error:
            damaged.append(f"{folder.name}: its outcomes cannot be read: {error}")
            continue
        whole += proved
        damaged += [f"{folder.name}: {sentence}" for sentence in broken]
    return tuple(whole), tuple(damaged)


def _with_outcomes(cases: Path) -> list[Path]:
    try:
        names = guarded.folders(cases)
    except (OSError, DamagedRecord):
        return []
    return [cases / name for name in names if os.access(f"{cases}/{name}/outcomes", os.R_OK)]
