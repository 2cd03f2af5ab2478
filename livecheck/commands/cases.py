"""What was found: fault location, report, and the cases kept."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from livecheck.casefile import CaseFolder, find_shop
from livecheck.casefile.shop import explain
from livecheck.commands.common import (
    DONE,
    Subparsers,
    common,
    load,
    print_json,
    read_tables,
    root_of,
)
from livecheck.host import LiveHost


def add(commands: Subparsers) -> None:
    """Add ``locate``, ``report`` and ``cases``."""
    locate = commands.add_parser("locate", help="fault location from a case's saved runs")
    locate.add_argument("case", metavar="CASE_DIR", type=Path)
    common(locate, _locate)

    report = commands.add_parser("report", help="write a case's report again")
    report.add_argument("case", metavar="CASE_DIR", type=Path)
    report.add_argument("--to", metavar="FILE", type=Path)
    report.set_defaults(command=_report)

    common(commands.add_parser("cases", help="the cases on the shop drive"), _cases)


def _locate(options: argparse.Namespace) -> int:
    from livecheck import session

    loaded = load(options.case)
    tables = read_tables(root_of(options.case))
    location = session.locate_case(loaded, tables)
    for line in loaded.damaged:
        print(f"livecheck: {line} (left as it is)", file=sys.stderr)
    if options.json:
        print_json(location)
    else:
        from livecheck import printing
        from livecheck.report.names import Names

        print(printing.location(location, Names(loaded.runs, tables)))
    return DONE


def _report(options: argparse.Namespace) -> int:
    from livecheck import session

    load(options.case)
    try:
        target = session.write_report(
            CaseFolder(options.case), read_tables(root_of(options.case)), options.to
        )
    except OSError as error:
        raise explain(error, options.to or options.case) from error
    print(target)
    return DONE


def _cases(options: argparse.Namespace) -> int:
    from livecheck import printing

    entries = find_shop(LiveHost(), options.shop).entries()
    if options.json:
        print_json(entries)
    else:
        print(printing.cases(entries))
    return DONE
