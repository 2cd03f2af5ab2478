"""Twelve machines by keys alone, from the counter back to it (``keyed.py``)."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench_stories.keyed import ALL, DARK, DECLINED, FALLS, INTERMITTENT, SOLDERED, SPILLS
from tests.bench_stories.keys import KeyPlayer, Played
from tests.report.pages import Page

LARGE = ("fall, drive lost sectors", "USB-C, no spares, charging circuit dead")
"""Played on a large screen, too."""
STORIES = [
    pytest.param(story, size, id=f"{story.name} {size[0]}x{size[1]}")
    for story in ALL
    for size in ((80, 25), (160, 45))
    if size[0] == 80 or story.name in LARGE
]


def test_there_are_two_of_each_sort() -> None:
    sorts = (SPILLS, FALLS, INTERMITTENT, SOLDERED, DARK, DECLINED)
    assert [len(stories) for stories in sorts] == [2] * 6
    assert len({story.name for story in ALL}) == 12


@pytest.mark.slow
@pytest.mark.parametrize(("story", "size"), STORIES)
async def test_a_story_by_keys(story: Played, size: tuple[int, int], tmp_path: Path) -> None:
    player = KeyPlayer(tmp_path, size)
    await player.play(story)
    text = Page(player.page).text()
    assert [words for words in story.page if words.lower() not in text.lower()] == []
