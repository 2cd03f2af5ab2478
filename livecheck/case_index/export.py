"""Cases found, for other programs: CSV and JSON."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import msgspec

from livecheck.case_index.query import Hit
from livecheck.casefile import CaseFolder
from livecheck.records import Case, DamagedRecord
from livecheck.wording import clean

COLUMNS: Final = (
    *("case", "ticket", "complaint", "machine", "board", "opened", "last", "closed", "runs"),
    *("side", "component", "name", "kind", "unit", "probability", "sentence", "proved"),
    *("folder", "trouble"),
)

_FORMULA: Final = tuple("=+-@＝＋－＠")
"""What makes a spreadsheet take a cell for a formula, blanks before it or not (OWASP, CSV
Injection). Tabs and line ends, which also do, are spelt out like every control character."""


def csv_text(hits: Sequence[Hit]) -> str:
    """A table with a heading (RFC 4180). No cell of it is a formula to a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows([_cell(getattr(hit, column)) for column in COLUMNS] for hit in hits)
    return out.getvalue()


def _cell(value: object) -> object:
    if not isinstance(value, str):
        return "" if value is None else value
    shown = clean(value)
    return f"'{shown}" if shown.lstrip().startswith(_FORMULA) else shown


def entry(hit: Hit, cases: Path) -> dict[str, Any]:
    """One case: its own record, and what the index knows of it."""
    path = cases / hit.folder
    found = msgspec.to_builtins(hit)
    return {
        "path": str(path),
        "case": _case(path),
        "trouble": hit.trouble or None,
        **{key: found[key] for key in COLUMNS if key not in ("case", "trouble")},
    }


def _case(path: Path) -> Case | None:
    try:
        return CaseFolder(path).case()
    except (OSError, DamagedRecord):
        return None
