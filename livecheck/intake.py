"""The intake sheet: what was told and seen when the machine came in, and notes since. Pure."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from livecheck.records import IntakeRow, ToldLine
from livecheck.worded import choice_title
from livecheck.wording import text

NOTE: Final = "note"
"""Words about anything: each stands beside those before it."""
OFTEN: Final = "often"
_DATA: Final = "data"
PASSWORD: Final = "password"
HANDED: Final = "handed"
_WHEN: Final = "when"
_WORDS: Final = "words"
_MISSING: Final = "missing"
_UNWANTED: Final = re.compile(r"not wanted(?:[.,;](?!.*\b(?:but|ask|sure)\b)[^?]*)?", re.IGNORECASE)


def with_told(before: Sequence[ToldLine], new: Iterable[ToldLine]) -> tuple[ToldLine, ...]:
    """The lines with new ones: one line for each row, the last words count, none take it away."""
    rows = {line.about: line for line in before if line.about != NOTE}
    notes = [line for line in before if line.about == NOTE]
    for line in new:
        if line.about == NOTE:
            notes += [line] if line not in notes else []
        else:
            rows[line.about] = line
    return (*(line for line in rows.values() if line.words), *notes)


def would_show(told: Iterable[ToldLine], row: IntakeRow, hours: float) -> float | None:
    """How likely a fault that shows as often as told shows within so many hours.

    Of a Poisson process: 1 - exp(-hours / time between). None: how often was not told.
    """
    between = dict(zip(row.choices, row.hours, strict=False)).get(words_of(told, row.about))
    return None if between is None else 1.0 - math.exp(-hours / between)


def words_of(told: Iterable[ToldLine], about: str) -> str:
    """What stands in a row; empty where nothing does."""
    return next((line.words for line in told if line.about == about), "")


def data_wanted(told: Iterable[ToldLine]) -> bool:
    """False where the customer said, without a doubt, that he does not want his data."""
    return _UNWANTED.fullmatch(words_of(told, _DATA).strip()) is None


def shows(told: Iterable[ToldLine], word: str) -> bool:
    """Whether it was told to show there."""
    return any(line.about == _WHEN and _found(line, [word]) for line in told)


def opens(
    told: Iterable[ToldLine], sheet: Mapping[str, IntakeRow], remarks: Iterable[str] = ()
) -> bool:
    """Whether the cover comes off before anything is measured, swapped or ordered.

    ``remarks``: what was said at the bench, which is of no row and so of each.
    """
    every = tuple(word for row in sheet.values() for word in row.opens)
    lines = [(line, sheet[line.about].opens) for line in told if line.about in sheet]
    lines += [(ToldLine(about=NOTE, words=words), every) for words in remarks]
    return any(_found(line, wanted) for line, wanted in lines)


def cautions(told: Iterable[ToldLine], sheet: Mapping[str, IntakeRow]) -> tuple[str, ...]:
    """Names of the cautions that what was told calls for."""
    rows = ((line, sheet[line.about].cautions) for line in told if line.about in sheet)
    return tuple(dict.fromkeys(row[one] for line, row in rows for one in _found(line, row)))


def finds(told: Iterable[ToldLine], sheet: Mapping[str, IntakeRow]) -> frozenset[str]:
    """Checks that fail by what was seen and heard.

    In the customer's own words too, where a row's choice may stand for anything.
    """
    heard = {word: check for row in sheet.values() for word, check in row.finds.items()
             if word not in row.choices}  # fmt: skip
    lines = (line for line in told if line.about in sheet)
    rows = ((line, heard if line.about == _WORDS else sheet[line.about].finds) for line in lines)
    return frozenset(row[one] for line, row in rows for one in _found(line, row))


def missed(told: Sequence[ToldLine], sheet: Mapping[str, IntakeRow]) -> tuple[str, ...]:
    """Kinds of part that the customer names, each word whole."""
    said = " ".join(words_of(told, about) for about in (_WORDS, _MISSING))
    kinds = sheet[_MISSING].kinds if _MISSING in sheet else {}
    named = (
        kind
        for word, kind in kinds.items()
        if re.search(rf"\b{re.escape(word)}\b(?!{_FINE})", said, re.IGNORECASE)
    )
    return tuple(dict.fromkeys(named))


def leans(
    told: Iterable[ToldLine], sheet: Mapping[str, IntakeRow]
) -> tuple[tuple[str, Mapping[str, float]], ...]:
    """What was told that makes some kinds of component likelier, with the factors on them."""
    rows = ((line, sheet[line.about]) for line in told if line.about in sheet)
    return tuple(
        (f"{row.title}: {line.words}", row.weighs[one])
        for line, row in rows
        for one in _found(line, row.weighs)
    )


def _found(line: ToldLine, wanted: Iterable[str]) -> list[str]:
    """The words of a row that were told: whole, in any of their forms, and not denied."""
    return [one for one in wanted if any(not m["no"] for m in _word(one).finditer(line.words))]


def _word(one: str) -> re.Pattern[str]:
    """``drop`` is in "dropped" and "drops", not in "dropbox" or "drop-down"."""
    forms = rf"{re.escape(one)}(?:s|t|en|(?:{re.escape(one[-1])}?e?d)|{re.escape(one[-1])}?ing)?"
    return re.compile(rf"(?P<no>{_DENIED})?(?<![\w-]){forms}(?![\w-])", re.IGNORECASE)


_DENIED: Final = (
    r"\b(?:not\s+(?:after|since)\s+an?\s+|(?:not|never)\s+(?:in|on|at|under|after|in or after)\s+"
    r"|(?:no|not|never|nothing|without|\w+n't)\s+"
    r"(?:(?:a|an|any|the|been|ever|g[eo]t|ha[ds]|have|known|visible|(?:sign|trace)s? of|\w+ or)"
    r"\s+)*)"
)
"""What stands straight before a word that did not happen: "no signs of dents or cracks"."""
_FINE: Final = r"\s+(?:is|are|was|were)\s+(?:fine|good|ok|okay)\b"
"""What stands straight behind a part that is not missed."""


def in_words(
    told: Iterable[ToldLine], sheet: Mapping[str, IntakeRow]
) -> tuple[tuple[str, str], ...]:
    """Title and words of each line, in the order of the sheet, notes last."""
    lines = list(told)
    order = {about: n for n, about in enumerate(sheet)}
    lines.sort(key=lambda line: order.get(line.about, len(order)))
    return tuple((_title(line.about, sheet), _said(line, sheet)) for line in lines)


def _said(line: ToldLine, sheet: Mapping[str, IntakeRow]) -> str:
    return choice_title(sheet[line.about], line.words) if line.about in sheet else line.words


def _title(about: str, sheet: Mapping[str, IntakeRow]) -> str:
    return sheet[about].title if about in sheet else text("intake.note") if about == NOTE else about
