"""One case folder as a row of the index."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final

import msgspec

from livecheck.case_index.summary import summarize
from livecheck.casefile import CaseFolder, Loaded
from livecheck.records import Case, DamagedRecord, Location, Machine, NotJudged, Proved, Summary

Judge = Callable[[Loaded], Location]
"""Works out the fault location of a case that was never judged."""


NO_CASE: Final = "holds no case.json; it is not a case"
NO_NAME: Final = "is gone, or its name is not UTF-8 (then rename the folder)"


class CaseRow(msgspec.Struct, frozen=True, kw_only=True):
    """One case as the index keeps it; a folder that is none has ``trouble`` and no ``case``."""

    folder: str
    """Name of the folder."""
    case: Case | None = None
    summary: Summary | None = None
    proved: tuple[Proved, ...] = ()
    damaged: tuple[str, ...] = ()
    trouble: str | None = None


def read(folder: Path, judge: Judge, thorough: bool = False) -> CaseRow:
    """Read a case. ``thorough``: the run records themselves, whatever the summary says.

    Never raises for what the folder holds.
    """
    kept = CaseFolder(folder)
    try:
        case = kept.case()
    except FileNotFoundError:
        return CaseRow(folder=folder.name, trouble=NO_CASE if folder.exists() else NO_NAME)
    except DamagedRecord as error:
        return CaseRow(folder=folder.name, trouble=f"its case.json is {error}")
    except OSError as error:
        return CaseRow(
            folder=folder.name, trouble=f"its case.json cannot be read: {error.strerror}"
        )
    proved: tuple[Proved, ...] = ()
    damaged: tuple[str, ...] = ()
    summary = None if thorough else kept.summary()
    try:
        proved, damaged = kept.proved()
        if summary is None:
            loaded = kept.load()
            summary = summarize(judge(loaded), loaded.runs, kept.run_numbers())
            damaged = (*loaded.damaged, *damaged)
    except (DamagedRecord, OSError) as error:
        damaged = (*damaged, str(error))
    except Exception as error:
        # Whatever one case's records do to engine or summary costs that case alone.
        damaged = (*damaged, str(NotJudged(case.id, error)))
    return CaseRow(folder=folder.name, case=case, summary=summary, proved=proved, damaged=damaged)


def board(machines: Iterable[Machine]) -> str:
    """Maker and model of the mainboard, else of the machine, as it says itself; empty: neither.

    Of a case that saw two boards the first counts: it is the one the complaint was of.
    """
    for machine in machines:
        named = machine.board_named or machine.named
        if named:
            return named
    return ""


def serials(machines: Iterable[Machine], parts: Iterable[str]) -> tuple[str, ...]:
    """Everything that tells this machine and its parts from others of their kind."""
    own = [w for m in machines for w in (m.serial, m.board_serial, m.uuid) if w]
    return tuple(dict.fromkeys((*own, *parts)))
