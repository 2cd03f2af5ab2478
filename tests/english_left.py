"""Words of English on what is shown in another language.

A word is English where it occurs in the English catalogue, in a table, or in what probes say,
and in no text of the language; names, numbers and units are in neither.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from functools import cache
from typing import Final

from livecheck import found_words, wording
from tests.console import spoken_screens

_WORD: Final = re.compile(r"(?<![\w/@.-])[^\W\d_]{2,}(?:-[^\W\d_]{2,})*(?![\w/@]|\.\w)")
_FIELD: Final = re.compile(r"\{\w+\}")


def english_left(lines: Iterable[str], language: str, names: Collection[str] = ()) -> set[str]:
    """The words, in small letters; ``names``: what is no word in any language."""
    english, own = _words_of("en"), _words_of(language)
    shown = {word for line in lines for word in _words(line)}
    return shown & english - own - {word for name in names for word in _words(name)}


@cache
def _words_of(language: str) -> frozenset[str]:
    """Every word that stands in a text of the language."""
    texts = list(wording.catalogue(language).values())
    if language == "en":
        texts += spoken_screens.other_words().values()
        texts += found_words.found_in("de").keys()
    else:
        texts += found_words.found_in(language).values()
    return frozenset(word for text in texts for word in _words(_FIELD.sub(" ", text)))


def _words(text: str) -> list[str]:
    return [word.lower() for word in _WORD.findall(text)]
