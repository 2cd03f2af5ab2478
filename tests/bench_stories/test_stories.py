"""Every story comes to its end, and whatever is shown on the way can be acted on.

The truth of a story stands in it and is told to nobody; what a technician would have to
remember by himself is what these tests look for on each screen and page.
"""

from __future__ import annotations

import re
import textwrap
from itertools import takewhile
from pathlib import Path

import msgspec
import pytest

from livecheck import knowledge
from livecheck.casefile import CaseFolder
from livecheck.chances import percent
from livecheck.console.judged_case import JudgedCase
from livecheck.console.verdict_lines import verdict_lines
from livecheck.judgement import locate_case, shop_tables
from tests.bench_stories.player import Player, Told
from tests.bench_stories.steps import Handed, Measured, Proved, Story, Unmended
from tests.bench_stories.stories import ALL
from tests.bench_stories.unmended import UNMENDED
from tests.inventory.test_naming import ADDRESS
from tests.report.pages import Page
from tests.report.test_customer import told as customers
from tests.report.test_one_number import numbers

COLUMNS, LINES = 76, 10
"""Of a screen of 80 by 25 what a line holds, and what is read in ten seconds."""


@pytest.fixture
def player(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Player:
    return Player(tmp_path, capsys)


def test_there_are_two_of_each_sort() -> None:
    """Spill, fall, fault that comes and goes, soldered machine, dark panel, declined finding."""
    sorts = [re.split("[,:]", story.name)[0] for story in ALL]
    assert len(ALL) == 12
    assert all(sorts.count(sort) == 2 for sort in sorts)


@pytest.mark.slow
@pytest.mark.parametrize("story", (*ALL, *UNMENDED), ids=lambda story: story.name)
def test_a_story(story: Story, player: Player) -> None:
    seen = player.play(story)
    before = list(takewhile(lambda told: not isinstance(told.step, Handed | Unmended), seen))
    for told in seen:
        _came_out_as_told(told)
        _can_be_acted_on(told)
        _page_holds_together(told, told in before)
    assert story.told == () or "Told and seen when it came in" in seen[-1].page
    asked = [told.page for told in before if "was at fault" not in told.printed]
    assert story.broken in Page(asked[-1]).text("customer").lower()
    _ten_seconds(player, story)


def _came_out_as_told(told: Told) -> None:
    step = told.step
    wanted = (0 if step.signed else 1) if isinstance(step, Handed) else 0
    assert told.status == wanted, told.printed
    for words in getattr(step, "finds", ()):
        assert words.lower() in " ".join(told.printed.lower().split()), told.printed


def _can_be_acted_on(told: Told) -> None:
    """No address of a bus, no raw kind, a step with minutes and its cautions behind it."""
    if isinstance(told.step, Proved | Unmended):
        return
    # The last lines name files, and how an id is typed in.
    typed = re.compile(r"Case: |Run: |Report: |  if the customer|  if it was sold|Once done, ")
    said = [line for line in told.printed.splitlines() if not typed.match(line)]
    assert [line for line in said if ADDRESS.search(line)] == []
    assert not re.search(r"\b(?:drive-lead|antenna-lead|hung-controller)\b", " ".join(said))
    if (at := next((n for n, line in enumerate(said) if line.startswith("Next: ")), None)) is None:
        return
    step = " ".join(said[at : at + 2])
    assert re.search(r"\(\d+\s(?:min|h)|hand-over check", step)
    if re.search("swap|replace|reseat|move|put back|exchange|inspect", said[at]) and "min" in step:
        assert any(line.startswith("CAUTION: ") for line in said[at + 1 : at + 4])


def _page_holds_together(told: Told, customer: bool) -> None:
    """One number for each unit; the customer's three answers, or the sign-off, come first."""
    given = numbers(told.page)
    assert {name for name, shares in given.items() if len(shares) > 1} == set()
    shown = re.sub(r"<(details|code|style)\b.*?</\1>", "", told.page, flags=re.DOTALL)
    assert ADDRESS.findall(re.sub(r"<[^>]*>", " ", shown)) == []
    if isinstance(told.step, Handed):
        assert told.page.index('id="sign-off"') < told.page.index('id="verdict"')
    elif customer:
        answers = customers(told.page)
        assert {"Are your data safe?", "What we propose", "What it costs"} <= set(answers)
        if isinstance(told.step, Measured):
            assert answers["Are your data safe?"].startswith("Not tested")


def _ten_seconds(player: Player, story: Story) -> None:
    """Verdict, unit, likelihood, next step, minutes and caution stand in ten lines."""
    loaded = CaseFolder(player.case).load()
    tables, _ = shop_tables(player.case.parent.parent)
    for upto in range(1, len(loaded.runs) + 1):
        still_open = msgspec.structs.replace(loaded.case, closed=None)
        part = msgspec.structs.replace(loaded, case=still_open, runs=loaded.runs[:upto])
        found = locate_case(part, tables)
        case = JudgedCase(loaded=part, location=found, tables=tables, report="")
        lines = [
            line for row in verdict_lines(case) for line in textwrap.wrap(row.text, COLUMNS) or [""]
        ]
        top = " ".join(lines[:LINES])
        if found.component is not None or "most likely" in found.sentence:
            assert percent(found.probability) in top, story.name
        if case.way_on:
            assert case.way_on[0].says.split(".")[0] in top
        else:
            assert "NEXT STEP" in top, lines[:LINES]
        if not case.way_on and found.next_step is not None:
            assert re.search(r"\(\d+\s(?:min|h)", top), lines[:LINES]
            assert "CAUTION" in top or not found.next_step.cautions, lines[:LINES]


def test_the_sheet_asks_what_stories_tell() -> None:
    """Every line that a story tells is a row of the intake sheet, most with one of its choices."""
    sheet = knowledge.load().intake
    told = [line.partition("=") for story in ALL for line in story.told]
    assert {about for about, _, _ in told} <= set(sheet)
    offered = [words in sheet[about].choices for about, _, words in told]
    assert sum(offered) > len(told) * 0.8
