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
    close = difflib.get_close_matches(word, there, n=1)
    if close:
        return f"; did you mean {close[0]}?"
    if not there:
        return "; there is none"
    more = f" and {len(there) - MAX_NAMED} more" if len(there) > MAX_NAMED else ""
    return f"; there are: {', '.join(there[:MAX_NAMED])}{more}"
