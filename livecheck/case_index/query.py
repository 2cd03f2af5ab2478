"""What can be asked of the case index, and what it answers."""

from __future__ import annotations

from typing import Final

from livecheck.records import Complaint, Record

EVERY: Final = "1"
SEARCHED: Final[tuple[str, ...]] = ("words", "serials", "boards", "units")
"""Columns that together hold every word of a case."""


class Query(Record, frozen=True, kw_only=True):
    """What is looked for; every field given must fit, capital letters or not."""

    text: str | None = None
    """Words, each anywhere in what the case holds."""
    ticket: str | None = None
    serial: str | None = None
    """Part of a serial number, UUID or identity of the machine, its board or any part."""
    board: str | None = None
    """Part of the mainboard's or machine's maker and model."""
    unit: str | None = None
    """Kind, title or id of the component found at fault or proved to be."""
    verdict: str | None = None
    """A side: ``device``, ``controller``, ``software``, ``no-fault``, ``undetermined``."""
    since: str | None = None
    """ISO 8601 date or moment: cases with a run, or opened, at or after it."""
    until: str | None = None
    """The same, at or before it; a date alone means its whole day."""
    is_open: bool | None = None
    most: int = 10_000


class Hit(Record, frozen=True, kw_only=True):
    """One case on the case index."""

    folder: str
    case: str
    ticket: str | None
    complaint: Complaint | None
    machine: str
    board: str
    opened: str
    last: str
    """When its latest run was started; when it was opened, where there is none."""
    closed: str | None
    runs: int
    side: str
    component: str | None
    name: str
    kind: str
    """Kind of the component the verdict names; empty: it names none."""
    unit: str | None
    probability: float
    sentence: str
    proved: str
    """Kinds that repairs proved at fault, ``, `` between them."""
    trouble: str


class BoardHistory(Record, frozen=True, kw_only=True):
    """What failed before in cases of one board model."""

    board: str
    cases: int
    faults: tuple[tuple[str, int, int], ...]
    """Kind of component, number of cases, and in how many of them a repair proved it.
    A case counts by what its repair proved, else by its verdict, if that names a component."""


def folded(words: str) -> str:
    """Text as it is compared: without regard to capital letters."""
    return words.casefold()


def conditions(query: Query) -> tuple[str, list[str]]:
    """The query as SQL with placeholders, and their values."""
    wanted = [(SEARCHED, word) for word in (query.text or "").split()]
    wanted += [
        ((column,), value)
        for column, value in (
            ("ticket", query.ticket),
            ("serials", query.serial),
            ("boards", query.board),
            ("units", query.unit),
        )
        if value
    ]
    said, values = [], []
    for columns, value in wanted:
        either = " OR ".join(f"{column} LIKE ? ESCAPE '\\'" for column in columns)
        said.append(f"({either})")
        values += [f"%{_escaped(folded(value))}%"] * len(columns)
    if query.verdict:
        said.append("side = ?")
        values.append(query.verdict)
    if query.since:
        said.append("last >= ?")
        values.append(query.since)
    if query.until:
        said.append("opened <= ?")
        # A date comes before every moment of its day; this comes after them.
        values.append(query.until if "T" in query.until else f"{query.until}T~")
    if query.is_open is not None:
        said.append("closed IS NULL" if query.is_open else "closed IS NOT NULL")
    return " AND ".join(said) or EVERY, values


def _escaped(word: str) -> str:
    return word.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
