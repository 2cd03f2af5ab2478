"""A run taken out of its case, or put back: kept, marked, not judged."""

from __future__ import annotations

import argparse

from livecheck.casefile import CaseFolder
from livecheck.casefile.shop import explain
from livecheck.commands.common import DONE, Failure, Subparsers, UsageError, case_argument, common
from livecheck.commands.files import case_of, load, read_tables, root_of
from livecheck.commands.output import print_json, print_verdict


def add(commands: Subparsers) -> None:
    """Add ``take-out``."""
    parser = commands.add_parser(
        "take-out", help="a run that is no part of its case: kept, not judged"
    )
    case_argument(parser)
    parser.add_argument("run", metavar="RUN", type=int, help="the run's number")
    parser.add_argument("--why", metavar="WORDS", help="as in: it was another laptop")
    parser.add_argument("--put-back", action="store_true", help="judge it again")
    common(parser, _take_out)


def _take_out(options: argparse.Namespace) -> int:
    from livecheck.judgement import save_report
    from livecheck.live_host import LiveHost
    from livecheck.records import TakenOut

    why = (options.why or "").strip()
    if options.put_back == bool(why):
        raise UsageError("take-out wants --why WORDS, which the report shows, or --put-back")
    path = case_of(options)
    case, folder = load(path).case, CaseFolder(path)
    if options.run not in folder.run_numbers():
        known = ", ".join(map(str, folder.run_numbers())) or "none"
        raise Failure(f"case {case.id} has no run {options.run} (its runs: {known})")
    if options.put_back and options.run not in {one.run for one in case.taken_out}:
        raise Failure(f"run {options.run} of case {case.id} was not taken out")
    tables = read_tables(root_of(path), besides=case.id)
    try:
        if options.put_back:
            folder.put_back(options.run)
        else:
            now = LiveHost().scope("session").facts().now
            folder.take_out(TakenOut(run=options.run, at=now, why=why))
        loaded, location = save_report(folder, tables)
    except OSError as error:
        raise explain(error, path) from error
    if options.json:
        print_json({"case": loaded.case, "location": location})
    else:
        print_verdict(path, loaded, location, tables)
    return DONE
