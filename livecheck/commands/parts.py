"""The parts sheet of a case."""

from __future__ import annotations

import argparse
from pathlib import Path

from livecheck.casefile.shop import explain
from livecheck.commands.common import (
    DONE,
    Subparsers,
    case_folder,
    common,
    load,
    print_json,
    read_tables,
    root_of,
)


def add(commands: Subparsers) -> None:
    """Add ``parts``."""
    parts = commands.add_parser("parts", help="what to search and match by, for what to order")
    parts.add_argument("case", metavar="CASE_DIR", type=case_folder)
    parts.add_argument("--to", metavar="FILE", type=Path, help="write the plain text there")
    common(parts, _parts)


def _parts(options: argparse.Namespace) -> int:
    from livecheck import partssheet
    from livecheck.judgement import locate_case
    from livecheck.wording import text

    loaded = load(options.case)
    tables = read_tables(root_of(options.case), besides=loaded.case.id)
    location = locate_case(loaded, tables)
    sheets = partssheet.sheets(loaded.case, loaded.runs, location, tables)
    if options.json:
        print_json(sheets)
        return DONE
    told = "\n\n".join(sheet.text for sheet in sheets) or text("parts.nothing")
    if options.to:
        try:
            options.to.write_text(told + "\n", encoding="utf-8")
        except OSError as error:
            raise explain(error, options.to) from error
        print(options.to)
    else:
        print(told)
    return DONE
