"""Words of English on what is shown in another language.

A word is English where it occurs in the English catalogue, in a table, or in the program's own
text, and in no text of the language; makers' names, numbers and units are in neither.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Collection, Iterable
from functools import cache
from pathlib import Path
from typing import Final

import livecheck
from livecheck import found_words, wording
from tests.console import spoken_screens

_WORD: Final = re.compile(r"(?<![\w/@.=-])[^\W\d_]{2,}(?:-[^\W\d_]{2,})*(?![\w/@=]|\.\w)")
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
        for file in Path(livecheck.__file__).parent.rglob("*.py"):
            told = (getattr(node, "value", None) for node in ast.walk(ast.parse(file.read_text())))
            texts += (said for said in told if isinstance(said, str))
    else:
        texts += found_words.found_in(language).values()
    return frozenset(word for text in texts for word in _words(_FIELD.sub(" ", text)))


def _words(text: str) -> list[str]:
    return [word.lower() for word in _WORD.findall(text)]
