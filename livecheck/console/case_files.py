"""What the console asks of files: in threads, so that a slow drive holds nothing up."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final

import msgspec

from livecheck.case_index import recording
from livecheck.case_index.query import Query
from livecheck.case_index.shop import caught_up
from livecheck.case_index.words import board_line, hit_line
from livecheck.casefile import (
    CaseFolder,
    Loaded,
    ShopError,
    find_shop,
    place_names,
    presence,
)
from livecheck.casefile.place_names import board_of
from livecheck.casefile.shop import explain
from livecheck.console.judged_case import JudgedCase
from livecheck.judgement import locate_case, locate_in_words, save_report, shop_tables
from livecheck.languages import ENGLISH, speaking
from livecheck.live_host import LiveHost
from livecheck.memory_cases import to_be_brought
from livecheck.records import Case, DamagedRecord, Location, Machine, Run, TakenOut, ToldLine
from livecheck.saving import note
from livecheck.worded import worded
from livecheck.wording import text

MOST_LISTED: Final = 500
"""Cases in the list; more are found by their words."""


def open_case(path: Path) -> JudgedCase | str:
    """A case with its verdict; a sentence where it cannot be read."""
    folder = CaseFolder(path)
    try:
        loaded = folder.load()
        tables, _ = shop_tables(path.resolve().parent.parent, besides=loaded.case.id)
        own = place_names.own_words(path.parent)
        loaded, tables, location = locate_in_words(loaded, tables, own)
    except (OSError, DamagedRecord) as error:
        return f"{path}: {error}"
    return JudgedCase(
        loaded=loaded, location=location, tables=tables, report=str(folder.report_file)
    )


def rule_out(path: Path, step: str, back: bool) -> str | None:
    """Keep in a case that a step cannot be done here, or can after all."""
    cannot, can = ((), (step,)) if back else ((step,), ())
    return _kept(path, lambda folder: note(folder, cannot=cannot, can=can))


def keep_told(path: Path, told: tuple[ToldLine, ...]) -> str | None:
    """Keep the intake sheet of a case as it stands now."""

    def told_now(case: Case) -> Case:
        return msgspec.structs.replace(case, told=told)

    return _kept(path, lambda folder: folder.change_case(told_now))


def call_place(path: Path, runs: Sequence[Run], place: str, name: str) -> str | None:
    """Keep what a place is called on boards of this model."""
    boards = [board_of(run.inventory.machine) for run in runs if not run.in_known_good_machine]
    board = next((one for one in reversed(boards) if one is not None), None)
    if board is None:
        return text("ask.no-model")
    return _kept(path, lambda _: place_names.keep(path.parent, board, place, name))


def keep_names(cases: Path, machine: Machine, called: Mapping[str, str]) -> str | None:
    """Keep what places are called on boards of this model; a sentence where that failed."""
    try:
        place_names.keep_told(cases, machine, called)
    except OSError as error:
        return str(explain(error, cases))
    except DamagedRecord as error:
        return f"{cases}: {error}"
    return None


def take_out(path: Path, number: int, why: str | None) -> str | None:
    """Keep that a run is not judged, and why; None: it is judged again."""
    if why is None:
        return _kept(path, lambda folder: folder.put_back(number))
    now = LiveHost().scope("session").facts().now
    taken = TakenOut(run=number, at=now, why=why)
    return _kept(path, lambda folder: folder.take_out(taken))


def _kept(path: Path, change: Callable[[CaseFolder], object]) -> str | None:
    """Change a case, and write its report; a sentence where that failed."""
    try:
        change(CaseFolder(path))
    except OSError as error:
        return str(explain(error, path))
    except DamagedRecord as error:
        return f"{path}: {error}"
    return _write_report(path)


@speaking(ENGLISH)
def record_outcome(case: JudgedCase, component: str, proved: bool) -> str | None:
    """Keep what a repair proved in its case; a sentence where that failed."""
    path = Path(case.report).parent
    # By the tables as they are: what is named is saved.
    tables, _ = shop_tables(path.resolve().parent.parent)
    loaded = CaseFolder(path).load()
    offered = recording.choices(loaded, case.location, tables)
    chosen = recording.choose(component, offered)
    now = LiveHost().scope("session").facts().now
    try:
        result = recording.RepairResult(proved=proved, recorded=now)
        recording.record_outcome(CaseFolder(path), loaded, case.location, chosen, result)
    except OSError as error:
        return str(explain(error, path))
    return _write_report(path)


@speaking(ENGLISH)
def close_unmended(path: Path) -> str | None:
    """Close a case of which nothing was mended; a sentence where that failed."""
    try:
        now = LiveHost().scope("session").facts().now
        recording.close_unmended(CaseFolder(path), now)
    except OSError as error:
        return str(explain(error, path))
    return _write_report(path)


def _write_report(path: Path) -> str | None:
    """Write a case's report again; a sentence where that failed."""
    try:
        case_id = CaseFolder(path).case().id
        tables, _ = shop_tables(path.resolve().parent.parent, besides=case_id)
        save_report(CaseFolder(path), tables)
    except OSError as error:
        return str(explain(error, path))
    except DamagedRecord as error:
        return f"{path}: {error}"
    return None


class FoundCases(msgspec.Struct, frozen=True):
    """Cases in lines, and what failed before by board model."""

    cases: tuple[tuple[str, str], ...]
    """Path of a case's folder, and how the case reads; the latest first."""
    boards: tuple[str, ...]
    of: int
    """Cases that fit, also those that are not listed."""


def list_cases(
    explicit: Path | None, words: str, on_progress: Callable[[int, int], None]
) -> FoundCases | str:
    """The cases that hold all these words; a sentence where the case index cannot be read."""
    query = Query(text=words or None, most=MOST_LISTED)
    try:
        shop = find_shop(LiveHost(), explicit)
        tables, _ = shop_tables(shop.root)

        @speaking(ENGLISH)
        def judge(loaded: Loaded) -> Location:
            return locate_case(loaded, tables)

        with caught_up(shop, judge, on_progress=on_progress) as index:
            assert index is not None  # only a bound on the folders read makes it None
            hits = index.find(query)
            own = worded(tables)
            boards = [(b.board, board_line(b, own)) for b in index.boards(query)]
            many = index.count(query)
    except ShopError as error:
        return str(error)
    except OSError as error:
        return str(explain(error, explicit or Path()))
    except sqlite3.Error as error:
        return text("alarm.no-index", error=error)
    return FoundCases(
        tuple((str(shop.cases_folder / hit.folder), hit_line(hit, own)) for hit in hits),
        tuple(f"{board}: {says}" for board, says in boards),
        many,
    )


class ShopWatch:
    """The drive of the cases as it was found, to notice when it is gone and back again."""

    def __init__(self, folder: Path, explicit: Path | None = None) -> None:
        host = LiveHost()
        self._folder = folder
        self._explicit = explicit
        mount = presence.mount_of(host, folder)
        # Where the device cannot be seen from the start, its absence tells nothing later.
        self._mount = mount if presence.trouble(host, folder, mount) is None else None
        self._was_there = folder.parent.is_dir()

    def trouble(self) -> str | None:
        """Why nothing can be saved any more; None while all is well."""
        # A folder that no run has made yet is not lost.
        self._was_there = self._was_there or self._folder.parent.is_dir()
        if not self._was_there:
            return None
        return presence.trouble(LiveHost(), self._folder, self._mount)

    def waits(self, kept: Sequence[str]) -> tuple[str, ...]:
        """What could be saved now and is not yet: drive, kept runs, cases in memory."""
        if self.trouble() is not None:
            return ()
        drive, *cases = to_be_brought(LiveHost(), self._explicit) or ("",)
        moved = bool(drive) and not presence.lasts(LiveHost(), self._folder)
        return (drive, *kept, *cases) if kept or cases or moved else ()
