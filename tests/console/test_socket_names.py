"""What sockets are called, told in the guided check, is known on the next machine of the model."""

from __future__ import annotations

from pathlib import Path

import pytest

from livecheck.console.app import Console
from livecheck.console.screens.guide import GuideScreen
from livecheck.console.screens.guided import GuidedScreen
from livecheck.console.screens.tree import TreeScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.guided.events import Event
from livecheck.guided.sights import UsbSeen, UsbSight
from livecheck.guided.steps import GuideStep
from livecheck.guided.watcher import Watcher
from tests.console.console_limits import assert_holds, until, until_shown
from tests.console.test_case_end import FOLDER

PLUGGED = UsbSight(name="1-1", place="usb:1-1", speed=480.0, usb_id="1d6b:0104", serial="S1")


async def test_the_second_machine_of_a_model_has_the_names(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On the first one the port is told by a number while the thing is in it."""
    looks: list[UsbSeen] = []

    def poll(self: Watcher, step: GuideStep) -> list[Event]:
        looks.append(UsbSeen(seconds=len(looks), devices=(PLUGGED,) if looks else ()))
        return [looks[-1]]

    monkeypatch.setattr(Watcher, "poll", poll)
    app = Console(shop=tmp_path, source=FOLDER / "contact-2.capture.gz")
    async with app.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        await pilot.press("m", "down", "down", "enter")
        await until(pilot, GuidedScreen)
        await pilot.press("enter")
        await until(pilot, GuideScreen)
        await until_shown(pilot, "1 = It is the left USB port, front")
        assert_holds(app)
        await pilot.press("1")
        await until_shown(pilot, "left USB port, front: seen")
        await pilot.press("e")
        await until_shown(pilot, "Nothing came at")
        await pilot.press("n")
        await until(pilot, GuidedScreen)
        await pilot.press("d")
        await until(pilot, VerdictScreen)
    second = Console(shop=tmp_path, source=FOLDER / "drive-1.capture.gz")
    async with second.run_test(size=(80, 25)) as pilot:
        await until_shown(pilot, "Cases are kept in")
        await pilot.press("enter")
        await until(pilot, VerdictScreen)
        await pilot.press("t")
        await until(pilot, TreeScreen)
        await until_shown(pilot, "left USB port, front")
