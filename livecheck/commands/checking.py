"""Words of the command line held against what there is; the near miss is named."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Final

from livecheck import guarded
from livecheck.casefile import Shop
from livecheck.casefile.place_names import board_of
from livecheck.casefile.shop import same_ticket
from livecheck.commands.common import Failure, UsageError
from livecheck.near import near

if TYPE_CHECKING:
    from livecheck.casefile.shop import CaseEntry
    from livecheck.records import Knowledge, Run, ToldLine

IDENTITIES: Final = ("serial", "wwn", "mac")
"""Kinds of identity a part can carry (livecheck.inventory.tree)."""
MOST_HOURS: Final = 72.0
NO_SPARE: Final = "no spare"
NO_MACHINE: Final = "no known-good machine"


def day(words: str) -> str:
    """A date as ``2026``, ``2026-03`` or ``2026-03-01``. Raises UsageError."""
    match = re.fullmatch(r"(\d{4})(-\d{2})?(-\d{2})?", words)
    try:
        if match is None:
            raise ValueError
        date.fromisoformat(f"{match[1]}{match[2] or '-01'}{match[3] or '-01'}")
    except ValueError:
        raise UsageError(f"“{words}” is no date (as in 2026, 2026-03 or 2026-03-01)") from None
    return words


def hours(soak: float) -> float:
    """Hours of a soak. Raises UsageError."""
    if not 0 <= soak <= MOST_HOURS:
        raise UsageError(f"--soak {soak:g}: 0 to {MOST_HOURS:g} hours")
    return soak


def identity(words: str) -> str:
    """An identity as parts carry them. Raises UsageError."""
    kind, colon, value = words.partition(":")
    if kind not in IDENTITIES or not colon or not value:
        raise UsageError(
            f"“{words}” is no identity of a part (as in serial:XYZ123, the way the tree and "
            "the run record name it)"
        )
    return words


def told_line(words: str) -> ToldLine:
    """A line of the intake sheet as ROW=WORDS. Raises UsageError."""
    from livecheck import knowledge
    from livecheck.records import ToldLine

    about, sign, says = words.partition("=")
    sheet = knowledge.load().intake
    if not sign:
        raise UsageError(f"--told {words}: not understood (as in: since=weeks)")
    if about.strip() not in sheet:
        raise UsageError(f"--told {words}: the sheet has {', '.join(sheet)}{near(about, sheet)}")
    return ToldLine(about=about.strip(), words=says.strip())


def called(words: str, runs: Sequence[Run]) -> tuple[str, str, str]:
    """Board model, place and name of PLACE=NAME. Raises UsageError."""
    place, sign, name = words.partition("=")
    own = [run.inventory for run in runs if not run.in_known_good_machine][-1:]
    places = [one.id for found in own for one in found.places]
    board = next((board_of(found.machine) for found in own), None)
    if not sign:
        raise UsageError(f"--call {words}: not understood (as in: usb:1-1=left USB socket)")
    if board is None:
        raise UsageError("--call: this board gives no model, so its names could not be found again")
    return board, one_of(place.strip(), places, "--call"), name.strip()


def step_rule(words: str, tables: Knowledge) -> str:
    """A step that can be ruled out: an action, alone or of one kind. Raises UsageError."""
    from livecheck.diagnosis.steps.actions import Action

    head, _, of = words.partition(": ")
    if head not in (NO_SPARE, NO_MACHINE, *Action):
        known = (NO_SPARE, NO_MACHINE, *Action)
        raise UsageError(f"“{words}” rules out no step{near(head, known)}")
    kinds = {word for kind in tables.kinds.values() for word in (kind.kind, kind.title)}
    if of and of not in (*kinds, "machine") and not re.search(r"[:@]", of):
        raise UsageError(f"“{words}”: {of} is no kind of part{near(of, kinds)}")
    return words


def one_of(word: str, known: Collection[str], what: str) -> str:
    """A word of a list. Raises UsageError."""
    if word not in known:
        raise UsageError(f"{what} {word} is not known{near(word, known)}")
    return word


def case_folder(words: str, shop: Callable[[], Shop]) -> Path:
    """A case by its folder or, on the shop drive, by its folder's name, its id or its ticket.

    Folders are copied and renamed by hand, and the id stays in the record. Raises Failure.
    """
    path = Path(words)
    if is_folder(path) or path.name != words:
        # A link is followed to what is meant, here only.
        return guarded.named(path)
    where = shop()
    entries = where.entries()
    found = [e for e in entries if Path(e.path).name == words]
    found = found or [e for e in entries if _id(e) == words]
    # A folder that was renamed by hand may be called as another case's ticket.
    found += [e for e in of_ticket(words, entries, still_open=True) if e not in found]
    found = found or of_ticket(words, entries)
    if len(found) > 1:
        names = ", ".join(Path(e.path).name for e in found)
        raise Failure(f"{words} names several cases, in {names} (name the folder)")
    if not found:
        raise Failure(
            f"{words} is no folder, no case and no ticket of {where.cases_folder}"
            f"{near(words, map(_id, entries))} (see livecheck cases)"
        )
    return Path(found[0].path)


def of_ticket(
    words: str, entries: Iterable[CaseEntry], still_open: bool = False
) -> list[CaseEntry]:
    """The cases of a ticket, or those of them that are open."""
    return [
        e for e in entries
        if e.case is not None and e.case.ticket is not None and same_ticket(e.case.ticket, words)
        and not (still_open and e.case.closed)
    ]  # fmt: skip


def is_folder(path: Path) -> bool:
    """Whether a folder can be found there; no path is too long to be asked for."""
    try:
        return path.is_dir()
    except OSError:
        return False


def open_case(words: str, shop: Shop) -> str:
    """Id of an open case of the shop drive, by its id or its folder. Raises UsageError."""
    word = guarded.named(Path(words)).name if is_folder(Path(words)) else words
    entries = [e for e in shop.entries() if e.case is not None]
    own = [e for e in entries if Path(e.path).name == word]
    own = own or [e for e in entries if _id(e) == word]
    if any(e.case is not None and e.case.closed for e in own):
        raise UsageError(f"case {word} is closed (without --case a new one is opened)")
    still_open = [_id(e) for e in entries if e.case is not None and e.case.closed is None]
    return one_of(_id(own[0]) if own else word, still_open, "--case")


def _id(entry: CaseEntry) -> str:
    return entry.case.id if entry.case is not None else Path(entry.path).name
