"""The parts sheet of a case."""

from __future__ import annotations

import argparse
from pathlib import Path

from livecheck.commands.common import DONE, Subparsers, case_argument, common
from livecheck.commands.files import case_of, load, read_tables, root_of, writable, write_failed
from livecheck.commands.output import print_json, print_path


def add(commands: Subparsers) -> None:
    """Add ``parts``."""
    parts = commands.add_parser("parts", help="what to search and match by, for what to order")
    case_argument(parts)
    parts.add_argument("--to", metavar="FILE", type=Path, help="write the plain text there")
    common(parts, _parts)


def _parts(options: argparse.Namespace) -> int:
    from livecheck import partssheet
    from livecheck.judgement import locate_case
    from livecheck.records import Side
    from livecheck.wording import text

    path = case_of(options)
    loaded = load(path)
    tables = read_tables(root_of(path), besides=loaded.case.id)
    location = locate_case(loaded, tables)
    sheets = partssheet.sheets(loaded.case, loaded.runs, location, tables)
    if options.json:
        print_json(sheets)
        return DONE
    open_yet = location.side is Side.UNDETERMINED and location.put_right is None
    none = "parts.not-settled" if open_yet else "parts.nothing"
    told = "\n\n".join(sheet.text for sheet in sheets) or text(none)
    if options.to:
        try:
            writable(options.to).write_text(told + "\n", encoding="utf-8")
        except OSError as error:
            raise write_failed(error, options.to) from error
        print_path(options.to)
    else:
        print(told)
    return DONE
