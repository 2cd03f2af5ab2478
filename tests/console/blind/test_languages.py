"""The flow without a screen in another language: nothing in English, and a voice for it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from livecheck import languages
from livecheck.voice import speech
from livecheck.voice.speech import command, spoken
from livecheck.wording import NBSP
from tests.console.blind.support import NO, YES, Heard, start

ENGLISH = re.compile(
    r"(?<![\w-])(the|of|is|was|were|not|and|it|with|for|at|could|did|has|have|its|that|from|by|"
    r"shall|this|nothing|what|no key|minutes?|seconds?)(?![\w-])", re.IGNORECASE,
)  # fmt: skip
THEIRS_TOO = {"no", "has", "was"}


def _heard(folder: Path, language: str) -> Heard:
    """A first run, its verdict and what is offered then; once more for what is asked before."""
    folder.mkdir()
    start(folder, "port-1.capture.gz", (YES,), language=language)
    keys = (YES, NO, NO, YES, NO, NO, NO, NO, NO, YES)
    return start(folder, "port-2.capture.gz", keys, language=language, because="no-display")


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_nothing_is_said_in_english(language: str, tmp_path: Path) -> None:
    english = _heard(tmp_path / "en", "en")
    own = _heard(tmp_path / language, language)
    assert len(own.said) == len(english.said)
    left = [
        said
        for said in own.said
        if {word.lower() for word in ENGLISH.findall(said)} - THEIRS_TOO or said in english.said
    ]
    assert not left, "\n".join(left)


@pytest.mark.parametrize("language", languages.LANGUAGES)
def test_the_voice_is_that_of_the_language(language: str) -> None:
    """Names of espeak-ng's voices, from its own list (espeak-ng --voices)."""
    with languages.speaking(language):
        argv = command("x")
    assert argv[argv.index("-v") + 1] == language


@pytest.mark.parametrize(
    ("language", "words", "said"),
    [
        ("en", f"1{NBSP}min, 5{NBSP}min, 2{NBSP}h", "1 minute, 5 minutes, 2 hours"),
        ("de", f"1{NBSP}min, 5{NBSP}min, 2{NBSP}h", "1 Minute, 5 Minuten, 2 Stunden"),
        ("es", f"1{NBSP}min, 5{NBSP}min, 2{NBSP}h", "1 minuto, 5 minutos, 2 horas"),
        ("de", f"1–3 -> 4, 36{NBSP}°C & 9{NBSP}s", "1 bis 3 bis 4, 36 Grad Celsius und 9 Sekunden"),
        ("es", f"1–3 -> 4, 36{NBSP}°C & 9{NBSP}s", "1 a 3 a 4, 36 grados Celsius y 9 segundos"),
    ],
)
def test_units_are_read_out(language: str, words: str, said: str) -> None:
    assert len(words) < speech.MOST
    with languages.speaking(language):
        assert spoken(words) == said
