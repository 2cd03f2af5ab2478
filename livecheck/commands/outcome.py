"""What repairs proved."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from livecheck.casefile import CaseFolder
from livecheck.casefile.shop import explain
from livecheck.commands.common import DONE, Subparsers, UsageError, case_argument, common
from livecheck.commands.files import case_of, load, read_tables, root_of
from livecheck.commands.language import telling
from livecheck.commands.output import complain, in_words, print_json
from livecheck.worded import worded

if TYPE_CHECKING:
    from livecheck.records import Knowledge, Proved


def add(commands: Subparsers) -> None:
    """Add ``outcome``."""
    outcome = commands.add_parser("outcome", help="record what the repair proved")
    case_argument(outcome)
    outcome.add_argument("--unit", metavar="COMPONENT",
                         help="id or kind of what was mended; no-fault, software")  # fmt: skip
    outcome.add_argument("--proved", choices=["yes", "no"],
                         help="yes: that mended the machine; no: the fault stayed")  # fmt: skip
    outcome.add_argument("--not-mended", action="store_true",
                         help="close the case: nothing was mended or proved")  # fmt: skip
    outcome.add_argument("--note", default="", help="in your own words")
    outcome.add_argument("--keep-open", action="store_true", help="do not close the case")
    common(outcome, _outcome)


def _outcome(options: argparse.Namespace) -> int:
    from livecheck.case_index import recording
    from livecheck.judgement import locate_case, save_report
    from livecheck.live_host import LiveHost

    path = case_of(options)
    loaded = load(path)
    tables = read_tables(root_of(path), besides=loaded.case.id)
    if loaded.case.closed:
        complain(f"the case was closed before with: {loaded.case.outcome}")
    if options.not_mended:
        return _not_mended(CaseFolder(path), tables, options)
    location = locate_case(loaded, tables)
    offered = recording.choices(loaded, location, tables)
    with telling():
        shown, said, found = in_words(loaded, location, tables, path)
        told = recording.choices(shown, found, said)
    if options.unit is None or options.proved is None:
        lines = recording.listing(told)
        raise UsageError(f"outcome needs --unit and --proved; of this case --unit can be\n{lines}")
    try:
        named = recording.choose(options.unit, told)
    except recording.Unknown as error:
        raise UsageError(str(error)) from error
    chosen = next(one for one in offered if one.component == named.component)
    with telling():
        notice = recording.still_failing(shown, named) if options.proved == "yes" else None
    if notice is not None:
        complain(notice)
    folder = CaseFolder(path)
    now = LiveHost().scope("session").facts().now
    try:
        proved = recording.record_outcome(
            folder, loaded, location, chosen,
            recording.RepairResult(proved=options.proved == "yes", recorded=now,
                                   note=options.note, keep_open=options.keep_open),
        )  # fmt: skip
        save_report(folder, tables)
    except OSError as error:
        raise explain(error, path) from error
    _tell(proved, folder, read_tables(root_of(path)), options.json)
    return DONE


def _not_mended(folder: CaseFolder, tables: Knowledge, options: argparse.Namespace) -> int:
    from livecheck.case_index import recording, words
    from livecheck.judgement import save_report
    from livecheck.live_host import LiveHost

    if options.unit or options.proved or options.keep_open:
        raise UsageError("--not-mended stands alone: with --unit something was mended")
    try:
        recording.close_unmended(folder, LiveHost().scope("session").facts().now, options.note)
        save_report(folder, tables)
    except OSError as error:
        raise explain(error, folder.path) from error
    case = folder.case()
    if options.json:
        print_json(case)
    else:
        with telling():
            print(words.closed_line(case))
    return DONE


def _tell(proved: Proved, folder: CaseFolder, tables: Knowledge, as_json: bool) -> None:
    from livecheck.case_index import words

    if as_json:
        print_json(proved)
        return
    case = folder.case()
    with telling():
        print(words.proved_line(proved, worded(tables)))
        if case.closed:
            print(words.closed_line(case))
        print(words.priors_line(tables))
