"""The sentences verdicts and steps are told with: all there, none without use."""

from __future__ import annotations

import re
from pathlib import Path
from string import Formatter
from typing import Final

from livecheck import diagnosis, knowledge, topology
from livecheck.diagnosis import patterns
from livecheck.diagnosis.steps.actions import Action

TOLD_OTHERWISE: Final = {
    Action.SETTING,
    Action.ENABLE,
    Action.REPLACE,
    Action.REPAIR_SYSTEM,
}
"""Steps that say why with a check's own words, or with those of a repair."""
PUT_TOGETHER: Final = {"why", "open", "start", "repair", "percent", "hint", "pattern"}
"""Keys whose last word comes from a step, from what was found or from a figure."""


def _source() -> str:
    folders = (Path(room.__path__[0]) for room in (diagnosis, topology))
    return "".join(file.read_text("utf-8") for room in folders for file in room.rglob("*.py"))


def test_every_step_says_why() -> None:
    """A step that looks at something has its sentence, and there is none for any other."""
    said = {key for key in knowledge.sentences() if key.startswith("why.")}
    looking = set(Action) - TOLD_OTHERWISE
    assert said == {f"why.{action.replace(' ', '-')}" for action in looking}


def test_every_swap_pattern_has_its_words() -> None:
    said = {key for key in knowledge.sentences() if key.startswith("pattern.")}
    known = (patterns.FOLLOWS, patterns.STAYS, patterns.VANISHES, patterns.COMMON)
    assert said == {f"pattern.{name.replace(' ', '-')}" for name in known}


def test_a_hint_is_about_a_step_and_a_kind_of_part() -> None:
    """One that is about neither would never be told."""
    hints = [key.partition(".")[2] for key in knowledge.sentences() if key.startswith("hint.")]
    kinds = knowledge.load().kinds
    known = {f"{action.replace(' ', '-')}-{kind}" for action in Action for kind in kinds}
    assert hints and set(hints) <= known


def test_no_sentence_is_missing_and_none_is_without_use() -> None:
    """What the engine asks for by its whole key, against the table."""
    asked = set(re.findall(r"""["']([a-z]+(?:[.-][a-z-]+)*)["']""", _source()))
    known = {key for key in knowledge.sentences() if key.partition(".")[0] not in PUT_TOGETHER}
    assert known <= asked
    by_key = set(re.findall(r"""say\(\s*["']([^"']+)["']""", _source()))
    assert by_key <= set(knowledge.sentences())
    assert len(by_key) > 30


def test_words_of_a_device_are_not_read_as_fields() -> None:
    """A name with braces in it is told as it is."""
    said = knowledge.load().say("means.part", name="{drive} {0}", share="80 %")
    assert said == "most likely {drive} {0}, 80 %"


def test_what_is_filled_in_has_a_name() -> None:
    """Another language may turn the order round."""
    for key, text in knowledge.sentences().items():
        assert "" not in {field for _, field, _, _ in Formatter().parse(text)}, key
