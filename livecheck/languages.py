"""The language that a stretch of rendering is in: that of the shop's customers, or English.

It is the context's, not the process's: whatever else is worded meanwhile stays English.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator
from contextvars import ContextVar
from typing import Final

ENGLISH: Final = "en"
"""What the technician reads; probes, tables and names that finders give speak nothing else."""
LANGUAGES: Final = (ENGLISH, "de", "es")
"""Each is a file ``shared/texts.<language>.toml``."""
_SPOKEN: Final = ContextVar("language", default=ENGLISH)
_COMMON: Final = re.compile(r"[a-z'-]*")
_AROUND: Final = "(),;:"


def spoken() -> str:
    """The language that texts are asked for in now."""
    return _SPOKEN.get()


@contextlib.contextmanager
def speaking(language: str) -> Iterator[None]:
    """Texts in a language; in English where there is none of that name."""
    before = _SPOKEN.set(language if language in LANGUAGES else ENGLISH)
    try:
        yield
    finally:
        _SPOKEN.reset(before)


def proper(name: str, title: str) -> str:
    """What a name holds beside the title of its kind: makers' names, numbers, addresses.

    Common words are the finders' own and English; in English the name stays whole.
    """
    if spoken() == ENGLISH:
        return name
    words = (word.strip(_AROUND) for word in name.split())
    return " ".join(word for word in words if not _COMMON.fullmatch(word)
                    and word.lower() not in title.lower())  # fmt: skip
