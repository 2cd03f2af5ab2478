"""The case index in words: one line a case, one a board model."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.case_index.query import BoardHistory, Hit, Query
from livecheck.chances import percent
from livecheck.found_words import reworded
from livecheck.languages import ENGLISH, proper, spoken
from livecheck.records import Case, Knowledge, Proved, Side
from livecheck.wording import clean, count, kind_title, moment, text, title


def hit_line(hit: Hit, knowledge: Knowledge) -> str:
    """One case: when, which, what machine, what was found."""
    if hit.trouble and not hit.case:
        return clean(f"{hit.folder}: {hit.trouble}")
    ticket = text("case-index.ticket", ticket=hit.ticket) if hit.ticket else ""
    complaint = title(hit.complaint) if hit.complaint else ""
    machine = hit.machine or text("identity.nameless")
    said = "; ".join(filter(None, (found(hit, knowledge), state(hit, knowledge))))
    runs = count("case-index.runs", hit.runs)
    return clean(", ".join(filter(None, (hit.case, ticket, machine, complaint, runs, said))))


def found(hit: Hit, knowledge: Knowledge) -> str:
    """The verdict of a case in a few words."""
    if not hit.side:
        return text("case-index.unjudged")
    side = Side(hit.side)
    if not hit.component:
        return title(side)
    what = _called(hit.name, hit.kind, knowledge)
    return text("case-index.found", what=what, side=title(side), percent=percent(hit.probability))


def _called(name: str, of_kind: str, knowledge: Knowledge) -> str:
    """A component by its name in a record, which is English."""
    kind = kind_title(of_kind, knowledge)
    own = proper(name, kind)
    return own if own and spoken() == ENGLISH else f"{kind} {own}".strip()


def state(hit: Hit, knowledge: Knowledge) -> str:
    """What the repair proved, and whether the case is closed."""
    kinds = [kind_title(kind, knowledge) for kind in hit.proved.split(", ") if kind]
    proved = text("case-index.proved", what=", ".join(kinds)) if kinds else ""
    closed = text("case-index.closed", time=moment(hit.closed)) if hit.closed else ""
    return ", ".join(filter(None, (proved, closed)))


def board_line(board: BoardHistory, knowledge: Knowledge) -> str:
    """What failed before in one board model: ``4 of 6 cases of this board: wireless card``."""
    if not board.faults:
        return clean(count("case-index.board-none", board.cases))
    return clean("; ".join(fault_lines(board, knowledge)))


def fault_lines(board: BoardHistory, knowledge: Knowledge) -> Sequence[str]:
    """The same, a line for each kind of component."""
    lines = []
    for kinds, cases, proved in board.faults:
        what = ", ".join(kind_title(kind, knowledge) for kind in kinds.split(", "))
        line = count("case-index.board", board.cases, found=cases, what=what)
        lines.append(f"{line} ({count('case-index.board-proved', proved)})" if proved else line)
    return lines


def nothing(query: Query) -> str:
    """What to say where no case is found: that none fits, or that there is none."""
    bare = Query(most=query.most)
    return text("case-index.empty" if query == bare else "case-index.none-fit")


def proved_line(proved: Proved, knowledge: Knowledge) -> str:
    """What was recorded."""
    key = "repair.proved" if proved.proved else "repair.cleared"
    named = proved.name or proved.component
    return clean(text(key, what=_called(named, proved.kind, knowledge)))


def closed_line(case: Case) -> str:
    """That the case is closed."""
    return clean(text("repair.closed", case=case.id, time=moment(case.closed or "")))


def priors_line(knowledge: Knowledge) -> str:
    """Which priors are used from now on."""
    return clean(text("method.priors", priors=reworded(knowledge.origin)))
