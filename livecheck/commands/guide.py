"""Pages that belong to no case: the guide, the table of checks, the format of records."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from livecheck import knowledge
from livecheck.casefile import atomic
from livecheck.commands.common import DONE, Failure, Subparsers, UsageError, common
from livecheck.commands.files import ask_shop, writable, write_failed
from livecheck.commands.language import telling
from livecheck.records import Complaint
from livecheck.worded import worded
from livecheck.worded_runs import worded_runs


def add(commands: Subparsers) -> None:
    """Add ``guide``, ``checks`` and ``record-format``."""
    guide = commands.add_parser("guide", help="the bench guide, as a page to print")
    guide.add_argument("--to", metavar="FILE", type=Path, help="without: standard output")
    guide.add_argument("--shop", metavar="DIR", type=Path, help="folder or drive that keeps cases")
    guide.set_defaults(command=_guide)

    checks = commands.add_parser("checks", help="every check: what it asks, who could make it fail")
    checks.add_argument("--html", metavar="FILE", type=Path, help="write the whole table as a page")
    checks.add_argument("--machine", metavar="CASE", dest="case",
                        help="what the checks of a case's run cannot tell apart")  # fmt: skip
    checks.add_argument("--complaint", choices=[c.value for c in Complaint],
                        help="with --machine: under another complaint than the case's")  # fmt: skip
    common(checks, _checks)

    records = commands.add_parser(
        "record-format", help="the format of case folders, for other programs: a JSON Schema"
    )
    records.add_argument("--html", metavar="FILE", type=Path, help="write it explained, as a page")
    records.set_defaults(command=_record_format)


def _guide(options: argparse.Namespace) -> int:
    from livecheck.report.guide import guide_page

    ask_shop(options.shop)
    with telling():
        page = guide_page(worded(knowledge.load()))
    if options.to:
        return _write(options.to, page)
    if sys.stdout.isatty():
        raise UsageError("a page is nothing for a terminal; give --to FILE (as in guide.html)")
    sys.stdout.write(page)
    return DONE


def _checks(options: argparse.Namespace) -> int:
    from livecheck.report.guide import checks_page

    if options.html:
        return _write(options.html, checks_page(knowledge.load()))
    if options.case is not None:
        return _cannot_tell(options)
    with telling():
        listed = worded(knowledge.load()).checks
    for check in sorted(listed.values(), key=lambda check: check.name):
        print(f"{check.name}: {check.question}")
    return DONE


def _cannot_tell(options: argparse.Namespace) -> int:
    """What a machine's checks do not part, and what would."""
    from livecheck.commands.files import case_of, load, read_tables, root_of
    from livecheck.commands.output import print_json
    from livecheck.diagnosis.testability import ambiguity_groups
    from livecheck.printing import cannot_tell

    path = case_of(options)
    runs = [run for run in load(path).runs if not run.in_known_good_machine]
    if not runs:
        raise Failure(f"{path} holds no run of its machine yet (make one: livecheck run)")
    tables = read_tables(root_of(path))
    last = max(runs, key=lambda run: (len(run.readings), run.number))
    complaint = Complaint(options.complaint) if options.complaint else last.complaint
    groups = ambiguity_groups(last, complaint, tables)
    if options.json:
        print_json(groups)
    else:
        with telling():
            said = worded(tables)
            (shown,) = worded_runs((last,), said)
            groups = ambiguity_groups(shown, complaint, said)
            print(cannot_tell(groups, shown, complaint, said))
    return DONE


def _record_format(options: argparse.Namespace) -> int:
    from livecheck import record_format
    from livecheck.report.record_format import record_format_page

    if options.html:
        return _write(options.html, record_format_page())
    print(record_format.text(), end="")
    return DONE


def _write(to: Path, page: str) -> int:
    from livecheck.commands.output import print_path

    try:
        atomic.save(writable(to), page.encode())
    except OSError as error:
        raise write_failed(error, to) from error
    print_path(to)
    return DONE
