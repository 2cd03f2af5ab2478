"""The table of the index, and one case as its values."""

from __future__ import annotations

import sqlite3
from typing import Final

from livecheck.case_index.query import folded
from livecheck.case_index.reading import CaseRow, board, serials
from livecheck.records import Machine

VERSION: Final = 2
"""An index of another version is made anew."""

TABLES: Final = """
CREATE TABLE cases (
    folder TEXT PRIMARY KEY, stamp INTEGER NOT NULL, trouble TEXT NOT NULL,
    case_id TEXT NOT NULL, ticket TEXT, complaint TEXT, machine TEXT NOT NULL,
    board TEXT NOT NULL, opened TEXT NOT NULL, last TEXT NOT NULL, closed TEXT,
    runs INTEGER NOT NULL, side TEXT NOT NULL, component TEXT, name TEXT NOT NULL,
    kind TEXT NOT NULL, unit TEXT, probability REAL NOT NULL, sentence TEXT NOT NULL,
    proved TEXT NOT NULL, serials TEXT NOT NULL, boards TEXT NOT NULL, units TEXT NOT NULL,
    words TEXT NOT NULL
);
"""

BOARDS: Final = """
SELECT board, CASE WHEN proved <> '' THEN proved ELSE kind END AS fault,
       count(*) AS cases, sum(proved <> '') AS proved
FROM cases WHERE board <> '' AND {where}
GROUP BY board, fault
ORDER BY sum(count(*)) OVER (PARTITION BY board) DESC, board, cases DESC, fault
"""


def make(connection: sqlite3.Connection) -> None:
    """An empty table in place of any there is."""
    connection.execute("DROP TABLE IF EXISTS cases")
    for statement in TABLES.split(";"):
        if statement.strip():
            connection.execute(statement)
    connection.execute(f"PRAGMA user_version = {VERSION}")


def values(row: CaseRow, stamp: int) -> dict[str, str | int | float | None]:
    """One case as columns of the table ``cases``."""
    case, summary = row.case, row.summary
    machines = (summary.machines if summary else ()) or ((case.machine,) if case else ())
    parts = summary.parts if summary else case.parts if case else ()
    proved = sorted({p.kind for p in row.proved if p.proved})
    started = [line.started for line in summary.runs] if summary else []
    opened = case.opened if case else ""
    told = serials(machines, parts)
    boards = " ".join(filter(None, (_named(m) for m in machines)))
    units = [(summary.kind, summary.unit, summary.component, summary.name)] if summary else []
    units += [(p.kind, None, p.component, p.name) for p in row.proved if p.proved]
    unit_words = " ".join(word for unit in units for word in unit if word)
    trouble = row.trouble or "; ".join(row.damaged)
    words: list[str | None] = [row.folder, trouble, *(p.note for p in row.proved)]
    words += [case.ticket, case.outcome, *(t.words for t in case.told)] if case else []
    words += [summary.sentence] if summary else []
    return {
        "folder": row.folder,
        "stamp": stamp,
        "trouble": trouble,
        "case_id": case.id if case else "",
        "ticket": case.ticket if case else None,
        "complaint": case.complaint.value if case else None,
        "machine": _machine(machines),
        "board": board(machines),
        "opened": opened,
        "last": max(started, default=opened),
        "closed": case.closed if case else None,
        "runs": len(started),
        "side": summary.side.value if summary else "",
        "component": summary.component if summary else None,
        "name": summary.name if summary else "",
        "kind": summary.kind if summary else "",
        "unit": summary.unit if summary else None,
        "probability": summary.probability if summary else 0.0,
        "sentence": summary.sentence if summary else "",
        "proved": ", ".join(proved),
        "serials": folded(" ".join(told)),
        "boards": folded(boards),
        "units": folded(unit_words),
        "words": folded(" ".join(word for word in words if word)),
    }


def _named(machine: Machine) -> str:
    words = (machine.vendor, machine.product, machine.version, machine.board_vendor,
             machine.board_product, machine.board_version)  # fmt: skip
    return " ".join(word for word in words if word)


def _machine(machines: tuple[Machine, ...]) -> str:
    for machine in machines:
        if machine.named:
            return machine.named
    return ""
