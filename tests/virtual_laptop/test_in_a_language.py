"""The whole flow in German and in Spanish, on the stick's own screen; half an hour each."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pytest

from livecheck import languages
from tests.english_left import english_left
from tests.report import customers_part
from tests.virtual_laptop.in_a_language import TICKET, played

pytestmark = pytest.mark.boot
NAMES: Final = (TICKET,)
"""What stands on the screens and is no word of English there."""


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_nothing_is_english_from_boot_menu_to_report(
    language: str, image: Path, tmp_path: Path
) -> None:
    play = played(image, tmp_path / language, language)
    left = {name: english_left(lines, language, NAMES) for name, lines in play.screens.items()}
    assert not {name: words for name, words in left.items() if words}
    assert play.unread == 0
    for page in play.pages():
        html = page.read_text("utf-8")
        assert not english_left([customers_part.words(html)], language, NAMES)
        assert customers_part.languages(html) == {language}
