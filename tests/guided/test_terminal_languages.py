"""Guided checks at a terminal in another language; what they save is English."""

from __future__ import annotations

import pytest

from livecheck import knowledge, languages
from livecheck.commands import guided_terminal as terminal
from livecheck.guided.events import Answered, Skip
from livecheck.guided.steps import Choice, GuideStep
from livecheck.records import NotTested, Outcome, Reading
from tests.console.blind.test_languages import ENGLISH, THEIRS_TOO

YES = Choice(value="yes", title="Yes", key="y")


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_a_step_is_shown_in_it(language: str) -> None:
    said: list[str] = []
    found = Reading(check="guided.camera", at="camera", outcome=Outcome.FAILED,
                    says="Camera: 100% of it is black.")  # fmt: skip
    missed = NotTested(what="Camera: a few pictures", why="left out by the technician")
    with languages.speaking(language):
        told = terminal.Terminal(said.append)
        told.show(GuideStep(lines=("100% of it is black.",), question="?", choices=(YES,)))
        told.show(GuideStep(done=True, readings=(found,), not_tested=(missed,)))
    left = [one for one in said
            if {word.lower() for word in ENGLISH.findall(one)} - THEIRS_TOO]  # fmt: skip
    assert said and not left, left
    assert found.says == "Camera: 100% of it is black."


@pytest.mark.parametrize(("language", "yes"), [("en", "yes"), ("de", "ja"), ("es", "sí")])
def test_an_answer_is_understood_as_it_is_offered(language: str, yes: str) -> None:
    step = GuideStep(question="?", choices=(YES,))
    with languages.speaking(language):
        for typed in (yes, "y", "yes"):
            assert terminal.answer(step, typed) == Answered(value="yes")
        assert terminal.answer(step, terminal.SKIP) == Skip()


@pytest.mark.parametrize("language", languages.LANGUAGES[1:])
def test_rows_are_worded_and_their_titles_are_not(language: str) -> None:
    rows = knowledge.guided().check
    with languages.speaking(language):
        shown = [terminal.in_words(row) for row in rows]
    assert [row.title for row in shown] == [row.title for row in rows]
    assert all(own.lines != row.lines for own, row in zip(shown, rows, strict=True) if row.lines)
