"""Every screen can be heard: what is read out is what stands on it."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from textual.pilot import Pilot

from livecheck import wording
from livecheck.console.aloud import Aloud
from livecheck.console.app import Console
from livecheck.console.screens.big import BigScreen
from livecheck.console.screens.start import COMPLAINTS, StartScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.voice import speech
from tests.console.blind.support import CAPTURES
from tests.console.console_limits import assert_holds, shown, until, until_shown


class Ear:
    """Takes the loudspeaker's place."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self.trouble: str | None = None

    def say(self, sentence: str, stopped: Callable[[], bool]) -> str | None:
        self.said.append(sentence)
        return self.trouble


@pytest.fixture
def ear(monkeypatch: pytest.MonkeyPatch) -> Ear:
    """What the console says."""
    heard = Ear()
    monkeypatch.setattr(speech, "Loudspeaker", lambda host: heard)
    return heard


async def _heard(pilot: Pilot[int], ear: Ear, words: str) -> None:
    for _ in range(400):
        if any(words in one for one in ear.said):
            return
        await pilot.pause(0.05)
    raise AssertionError(f"{words} was never said: {ear.said}")


async def test_one_key_reads_every_screen_out_and_every_row(tmp_path: Path, ear: Ear) -> None:
    app = Console(shop=tmp_path, source=CAPTURES / "drive-1.capture.gz")
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        await pilot.pause()
        assert ear.said == [], "silent until it is asked for"
        await pilot.press("ctrl+t")
        await _heard(pilot, ear, "Keys: ")
        on_screen = "".join("".join(shown(app)).split())
        for title in ("What is wrong with it?", *map(wording.title, COMPLAINTS)):
            assert title in ear.said
            assert "".join(title.split()) in on_screen
        assert any(one.startswith("Under the bar: ") for one in ear.said)
        assert_holds(app)
        ear.said.clear()
        await pilot.press("up")
        await _heard(pilot, ear, wording.title(COMPLAINTS[-2]))
        assert len(ear.said) == 1, "a row alone"
        await pilot.press("down", "enter")
        await until(pilot, VerdictScreen)
        await _heard(pilot, ear, "NEXT STEP")
        await pilot.press("b")
        await until(pilot, BigScreen)
        ear.said.clear()
        await pilot.press("escape")
        await until(pilot, VerdictScreen)
        await _heard(pilot, ear, "Do it now")
        await pilot.press("ctrl+t")
        ear.said.clear()
        await pilot.press("b")
        await until(pilot, BigScreen)
        await pilot.pause(0.3)
        assert ear.said == [], "and silent again"


async def test_large_letters_are_read_as_the_words_they_are(tmp_path: Path, ear: Ear) -> None:
    app = Console(shop=tmp_path)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        await pilot.press("ctrl+t")
        await app.push_screen(BigScreen(lambda: ["DEVICE", "drive 97 %"]))
        await _heard(pilot, ear, "drive 97 %")
        assert ear.said[-2:] == ["DEVICE", "drive 97 %"]


async def test_without_a_sound_it_says_so_on_the_screen(tmp_path: Path, ear: Ear) -> None:
    ear.trouble = "there is no sound card"
    app = Console(shop=tmp_path)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        await pilot.press("ctrl+t")
        await until_shown(pilot, "Nothing can be read out: there is no sound card.")
        assert_holds(app)


def test_what_is_said_gives_way_to_what_comes_after() -> None:
    """A key pressed in the middle of a long screen ends its sentence."""
    begun, ended = threading.Event(), threading.Event()
    said: list[str] = []

    class Slow:
        def say(self, sentence: str, stopped: Callable[[], bool]) -> str | None:
            said.append(sentence)
            if sentence == "long":
                begun.set()
                while not stopped():
                    pass
            else:
                ended.set()
            return None

    aloud = Aloud(Slow(), said.append)
    aloud.say(("long", "never"))
    assert begun.wait(5)
    aloud.say(("row",))
    assert ended.wait(5)
    assert said == ["long", "row"]
