"""The case index as one self-contained HTML page, written beside the cases.

It shows the newest cases with links to their reports, and what failed before in each
board model. Like the report it loads nothing and needs no script.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final
from urllib.parse import quote

import msgspec

from livecheck.case_index.query import BoardHistory, Hit, Query
from livecheck.case_index.words import fault_lines, found, state
from livecheck.casefile import Shop, atomic
from livecheck.languages import speaking
from livecheck.records import Knowledge
from livecheck.worded import worded
from livecheck.wording import moment, text, title

if TYPE_CHECKING:
    from jinja2 import Template

    from livecheck.case_index.index import Index

FILE: Final = "index.html"
MOST_CASES: Final = 1000
MOST_BOARDS: Final = 100


class CaseLine(msgspec.Struct, frozen=True, kw_only=True):
    """One case on the page."""

    report: str
    """Relative address of its report; empty: the folder is no case."""
    case: str
    ticket: str | None
    machine: str
    complaint: str
    last: str
    found: str
    state: str
    trouble: str


def index_page(index: Index, knowledge: Knowledge) -> str:
    """The page as HTML text, in the shop's language, from an index that has caught up."""
    with speaking(knowledge.shop.language):
        return _page(index, worded(knowledge))


def _page(index: Index, knowledge: Knowledge) -> str:
    hits = index.find(Query(most=MOST_CASES))
    return _template().render(
        lines=[_line(hit, knowledge) for hit in hits],
        total=index.count(Query()),
        boards=[_board(board, knowledge) for board in index.boards(Query())[:MOST_BOARDS]],
        troubles=index.troubles(),
    )


def write_page(index: Index, shop: Shop, knowledge: Knowledge) -> Path | None:
    """Write the page beside the cases; returns the file, None when the drive takes none.

    The page says nothing that the cases do not, so a drive that is read-only or full is
    no failure here.
    """
    target = shop.cases_folder / FILE
    try:
        atomic.save(target, index_page(index, knowledge).encode())
    except OSError:
        return None
    return target


def _line(hit: Hit, knowledge: Knowledge) -> CaseLine:
    return CaseLine(
        report=f"{quote(hit.folder)}/report.html" if hit.case else "",
        case=hit.case or hit.folder,
        ticket=hit.ticket,
        machine=hit.machine or text("identity.nameless"),
        complaint=title(hit.complaint) if hit.complaint else "",
        last=moment(hit.last),
        found=found(hit, knowledge),
        state=state(hit, knowledge),
        trouble=hit.trouble,
    )


def _board(board: BoardHistory, knowledge: Knowledge) -> tuple[str, int, tuple[str, ...]]:
    return board.board, board.cases, tuple(fault_lines(board, knowledge))


@cache
def _template() -> Template:
    from livecheck.report import page_environment

    return page_environment("livecheck.case_index").get_template("cases.html")
