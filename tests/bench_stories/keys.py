"""Plays a story on the console by keys alone, and looks at every screen on the way."""

from __future__ import annotations

import gzip
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Final

import msgspec
from textual.pilot import Pilot

from livecheck.chances import percent
from livecheck.console.app import Console
from livecheck.console.screens.big import BigScreen
from livecheck.console.screens.evidence import ReadingScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.console.screens.worksheet import WorksheetScreen
from livecheck.console.text_list import TextList
from tests.bench_stories.steps import TICKET
from tests.console.console_limits import assert_holds, laid_out, shown, until, until_shown
from tests.inventory.test_naming import ADDRESS
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents

TOP: Final = 10
"""Lines of a screen of 80 by 25 that are read in ten seconds."""


class Visit(msgspec.Struct, frozen=True):
    """The stick is started on the machine as it stands then, and keys are pressed.

    Of each line the first word says what is done: ``press`` keys, ``type`` words, ``take`` the
    line of a list that holds words (Enter), ``tick`` one (Space), ``see`` words on the screen,
    ``verdict`` words on top of the verdict, ``measure`` the worksheet as it is answered here.
    """

    bed: Callable[[], Bed] | None
    """None: the machine is dead, and the worksheet is filled at the shop's own computer."""
    does: tuple[str, ...]
    measured: Mapping[str, str] = {}


class Played(msgspec.Struct, frozen=True, kw_only=True):
    """One machine, from the counter and back to it."""

    name: str
    truth: str
    """What was wrong, which nobody is told."""
    visits: tuple[Visit, ...]
    shop: str = ""
    """The shop's own facts: ``shop.toml``."""
    page: tuple[str, ...] = ()
    """What the report says in the end."""


class KeyPlayer:
    """One shop drive, a screen of a size, and what was seen on it."""

    def __init__(self, folder: Path, size: tuple[int, int]) -> None:
        self._folder, self._size = folder, size
        self.shop = folder / "shop"
        self.shop.mkdir()
        self.screens: list[str] = []
        """Every screen that was looked at."""

    @property
    def page(self) -> str:
        """The report of the one case, as it stands."""
        (file,) = self.shop.glob("livecheck-cases/*/report.html")
        return file.read_text("utf-8")

    async def play(self, story: Played) -> None:
        """The whole story."""
        if story.shop:
            (self.shop / "shop.toml").write_text(story.shop, "utf-8")
        for number, visit in enumerate(story.visits):
            source = self._capture(visit.bed) if visit.bed is not None else None
            app = Console(shop=self.shop, source=source)
            async with app.run_test(size=self._size) as pilot:
                known = number and visit.bed is not None
                await until_shown(pilot, "Known here" if known else "Cases are kept in")
                for line in visit.does:
                    await self._do(pilot, visit, *line.partition(" ")[::2])
                await self._look(pilot)
                await pilot.press("q")

    def _capture(self, bed: Callable[[], Bed]) -> Path:
        file = self._folder / f"{bed.__name__}.capture.gz"
        if not file.exists():
            file.write_bytes(gzip.compress(contents(bed()), 1, mtime=0))
        return file

    async def _do(self, pilot: Pilot[int], visit: Visit, verb: str, words: str) -> None:
        if verb == "press":
            await pilot.press(*words.split())
        elif verb == "type":
            await pilot.press(*words.replace("TICKET", TICKET))
        elif verb in ("take", "tick"):
            await self._take(pilot, words, "enter" if verb == "take" else "space")
        elif verb == "see":
            await until_shown(pilot, words)
        elif verb == "verdict":
            await until(pilot, VerdictScreen)
            top = " ".join(" ".join(line.strip(" │") for line in shown(pilot.app)[:TOP]).split())
            assert words.lower() in top.replace("\u00a0", " ").lower(), "\n".join(shown(pilot.app))
        elif verb == "measure":
            await self._measure(pilot, visit.measured)
        else:
            raise ValueError(verb)
        await self._look(pilot)

    async def _take(self, pilot: Pilot[int], words: str, key: str) -> None:
        """The bar is moved to the line, as hands do it."""
        for _ in range(100):
            await pilot.pause(0.05)
            lines = next(iter(pilot.app.screen.query(TextList)), None)
            if lines is not None and any(words in str(o.prompt) for o in lines.options):
                break
        else:
            raise AssertionError(f"no line has {words!r}:\n" + "\n".join(shown(pilot.app)))
        await self._look(pilot)
        await pilot.press("home")
        for _ in range(len(lines.options)):
            at = lines.highlighted
            if at is not None and words in str(lines.get_option_at_index(at).prompt):
                await pilot.press(key)
                return
            await pilot.press("down")
        raise AssertionError(f"the bar does not come to {words!r}")

    async def _measure(self, pilot: Pilot[int], answers: Mapping[str, str]) -> None:
        await until(pilot, WorksheetScreen)
        left = dict(answers)
        while isinstance(pilot.app.screen, WorksheetScreen):
            said = left.pop(pilot.app.screen._asked, "")
            await pilot.press(*said, "enter")
            await pilot.pause()
        assert left == {}, "these were never asked"

    async def _look(self, pilot: Pilot[int]) -> None:
        """No address of a bus stands there but among raw figures; a verdict is read at once."""
        await pilot.pause()
        app = pilot.app
        if not laid_out(app) or isinstance(app.screen, BigScreen):
            return
        lines = shown(app)
        self.screens.append("\n".join(lines))
        assert_holds(app)
        if not isinstance(app.screen, ReadingScreen):
            assert [line for line in lines if ADDRESS.search(line)] == []
        if isinstance(app.screen, VerdictScreen) and self._size == (80, 25):
            top = " ".join(lines[:TOP])
            assert [one for one in _wanted(app.screen) if not re.search(one, top)] == [], top


def _wanted(screen: VerdictScreen) -> Iterator[str]:
    """What ten lines must hold: likelihood, next step, its minutes and its caution."""
    case = screen.case
    found, listed = case.location, screen.query_one(TextList)
    if listed.scroll_y:
        return
    if found.component is not None or "most likely" in found.sentence:
        yield re.escape(percent(found.probability))
    if case.way_on:
        yield re.escape(" ".join(case.way_on[0].says.split()[:3]))
        return
    yield "NEXT STEP"
    if case.next_step is not None:
        yield r"\(\d+\s(?:min|h)"
        if case.next_step.cautions:
            yield "CAUTION"
