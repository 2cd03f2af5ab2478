"""What may have been meant by a word that names nothing."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Final

MAX_NAMED: Final = 12
"""More than so many are not listed where none of them is near."""


def near(word: str, known: Iterable[str]) -> str:
    """The tail of a message: the near miss, else what there is."""
    there = sorted(set(known))
    meant = near_miss(word, there)
    if meant:
        return meant
    if not there:
        return "; there is none"
    more = f" and {len(there) - MAX_NAMED} more" if len(there) > MAX_NAMED else ""
    return f"; there are: {', '.join(there[:MAX_NAMED])}{more}"


def near_miss(word: str, known: Iterable[str]) -> str:
    """The tail of a message that lists what there is by itself."""
    close = difflib.get_close_matches(word, list(known), n=1)
    return f"; did you mean {close[0]}?" if close else ""
