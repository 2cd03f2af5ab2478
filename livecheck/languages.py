"""The language that words are in: the technician's, or for a stretch the customers'.

The technician's is the process's (``adopt``): English, unless a console was told another one.
A stretch of rendering may be in one of its own (``speaking``), and nothing else is meanwhile.
"""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterator, Sequence
from contextvars import ContextVar
from typing import Final

ENGLISH: Final = "en"
"""Of records and reports; probes and names that finders give speak nothing else."""
LANGUAGES: Final = (ENGLISH, "de", "es")
"""Each is a file ``shared/texts.<language>.toml``."""
_SPOKEN: Final = ContextVar[str | None]("language", default=None)
_ADOPTED: Final = [ENGLISH]
_COMMON: Final = re.compile(r"[a-z'-]*")
_AROUND: Final = "(),;:"
_LETTER: Final = 2
"""Letters that count slots, as in ``DIMM A``, are no beginning of anything."""
_JOINED: Final = "\u00a0"


def spoken() -> str:
    """The language that texts are asked for in now."""
    return _SPOKEN.get() or _ADOPTED[0]


def adopt(language: str) -> None:
    """Speak to the technician in a language from now on; in English where there is none such."""
    _ADOPTED[0] = language if language in LANGUAGES else ENGLISH


@contextlib.contextmanager
def speaking(language: str) -> Iterator[None]:
    """Texts in a language; in English where there is none of that name."""
    before = _SPOKEN.set(language if language in LANGUAGES else ENGLISH)
    try:
        yield
    finally:
        _SPOKEN.reset(before)


def titled(title: str, own: str) -> str:
    """A name in the language that is spoken: the title of its kind, and what it holds beside."""
    return f"{title}{_JOINED}{own}" if own else title


def proper(name: str, title: str) -> str:
    """What a name holds beside the title of its kind: makers' names, numbers, addresses.

    Common words are the finders' own and English; in English the name stays whole.
    """
    if spoken() == ENGLISH:
        return name
    if name.startswith(f"{title}{_JOINED}"):
        return name.removeprefix(f"{title}{_JOINED}")
    words = (word.strip(_AROUND) for word in name.split())
    said = re.split(r"\W+", title.lower())
    return " ".join(word for word in words
                    if not _COMMON.fullmatch(word) and not _told(word.lower(), said))  # fmt: skip


def _told(word: str, title: Sequence[str]) -> bool:
    """Whether a title holds the word, or begins one with it: ``PCI`` in ``PCIe-Port``."""
    return any(word == own or (len(word) > _LETTER and own.startswith(word)) for own in title)
