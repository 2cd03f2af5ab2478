"""What was found: fault location, report, and the case index kept."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final

from livecheck.casefile import CaseFolder, Shop, find_shop
from livecheck.casefile.shop import explain
from livecheck.commands import checking
from livecheck.commands.common import (
    DONE,
    Failure,
    Subparsers,
    UsageError,
    case_argument,
    common,
)
from livecheck.commands.files import case_of, load, read_tables, root_of, writable, write_failed
from livecheck.commands.language import telling
from livecheck.commands.output import complain, print_json, print_path, print_verdict
from livecheck.live_host import LiveHost
from livecheck.records import Side
from livecheck.worded import worded
from livecheck.wording import clean

if TYPE_CHECKING:
    from livecheck.case_index.index import Index
    from livecheck.case_index.query import Query
    from livecheck.records import Knowledge


MAX_WORDS: Final = 1000
"""Characters to search for; SQLite takes no condition of more than some thousand words."""


def add(commands: Subparsers) -> None:
    """Add ``locate``, ``report`` and ``cases``."""
    locate = commands.add_parser("locate", help="fault location from a case's saved runs")
    case_argument(locate)
    common(locate, _locate)

    report = commands.add_parser("report", help="write a case's report again")
    case_argument(report)
    report.add_argument("--to", metavar="FILE", type=Path, help="without: into the case's folder")
    report.add_argument("--shop", metavar="DIR", type=Path, help="folder or drive that keeps cases")
    report.set_defaults(command=_report)

    cases = commands.add_parser("cases", help="the cases on the shop drive: find, count, export")
    cases.add_argument("--find", metavar="TEXT", help="words, each anywhere in what a case holds")
    cases.add_argument("--ticket", metavar="T", help="part of the ticket")
    cases.add_argument("--serial", metavar="S", help="part of a serial of machine, board or part")
    cases.add_argument("--board", metavar="B", help="part of the board's or machine's model")
    cases.add_argument("--unit", metavar="U", help="kind or name of what was found at fault")
    cases.add_argument("--verdict", choices=[side.value for side in Side],
                       help="on which side the fault was found")  # fmt: skip
    cases.add_argument("--since", metavar="DATE", help="as in 2026-03-01")
    cases.add_argument("--until", metavar="DATE", help="this day too")
    cases.add_argument("--boards", action="store_true", help="what failed before, by board model")
    cases.add_argument("--csv", metavar="FILE", type=Path, help="write the cases as a table")
    cases.add_argument("--rebuild", action="store_true", help="read every run record again")
    common(cases, _cases)


def _locate(options: argparse.Namespace) -> int:
    from livecheck.judgement import locate_case

    path = case_of(options)
    loaded = load(path)
    tables = read_tables(root_of(path), besides=loaded.case.id)
    location = locate_case(loaded, tables)
    for line in loaded.unchecked:
        complain(line)
    if options.json:
        for line in loaded.damaged:
            complain(f"{line} (left as it is)")
        print_json(location)
    else:
        print_verdict(path, loaded, location, tables)
    return DONE


def _report(options: argparse.Namespace) -> int:
    from livecheck.judgement import save_report, write_report

    path = case_of(options)
    case = load(path).case
    tables = read_tables(root_of(path), besides=case.id)
    folder = CaseFolder(path)
    if options.to is None:
        try:
            save_report(folder, tables)
        except OSError as error:
            raise explain(error, path) from error
    else:
        try:
            write_report(folder, tables, writable(options.to))
        except OSError as error:
            raise write_failed(error, options.to) from error
    print_path(options.to or folder.report_file)
    return DONE


def _query(options: argparse.Namespace) -> Query:
    from livecheck.case_index.query import Query

    for name in ("find", "ticket", "serial", "board", "unit"):
        if len(getattr(options, name) or "") > MAX_WORDS:
            raise UsageError(f"--{name} takes at most {MAX_WORDS} characters")
    return Query(
        text=options.find,
        ticket=options.ticket,
        serial=options.serial,
        board=options.board,
        unit=options.unit,
        verdict=options.verdict,
        since=checking.day(options.since) if options.since is not None else None,
        until=checking.day(options.until) if options.until is not None else None,
        most=10**9,
    )


def _cases(options: argparse.Namespace) -> int:
    import sqlite3

    from livecheck.case_index.shop import caught_up
    from livecheck.judgement import locate_case

    shop = find_shop(LiveHost(), options.shop)
    tables = read_tables(shop.root)
    try:
        with caught_up(
            shop,
            lambda loaded: locate_case(loaded, tables),
            thorough=options.rebuild,
            on_progress=_progress,
        ) as index:
            if index is not None:
                _answer(options, index, shop, tables)
    except OSError as error:
        raise explain(error, shop.cases_folder) from error
    except sqlite3.Error as error:
        raise Failure(
            f"this computer cannot keep an index of the cases ({error}); "
            "free some space, or name another cache folder in XDG_CACHE_HOME"
        ) from error
    return DONE


def _progress(done: int, of: int) -> None:
    if of > 1000:
        print(f"  {done} of {of} cases read", file=sys.stderr)


def _answer(options: argparse.Namespace, index: Index, shop: Shop, tables: Knowledge) -> None:
    from livecheck.case_index import export, words
    from livecheck.case_index.page import write_page

    query = _query(options)
    hits = () if options.boards else index.find(query)
    if options.csv:
        try:
            writable(options.csv).write_text(export.csv_text(hits), encoding="utf-8")
        except OSError as error:
            raise write_failed(error, options.csv) from error
        print_path(options.csv)
    elif options.boards:
        boards = index.boards(query)
        if options.json:
            print_json(boards)
        else:
            with telling():
                own = worded(tables)
                lines = [clean(f"{b.board}: {words.board_line(b, own)}") for b in boards]
                print("\n".join(lines) or words.nothing(query))
    elif options.json:
        print_json([export.entry(hit, shop.cases_folder) for hit in hits])
    else:
        with telling():
            own = worded(tables)
            print("\n".join(words.hit_line(hit, own) for hit in hits) or words.nothing(query))
        page = write_page(index, shop, tables)
        if page is not None:
            print(f"\n{page}")
