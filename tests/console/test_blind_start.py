"""When the flow without a screen takes over, and when it must not."""

from __future__ import annotations

import os
import pty
from pathlib import Path

import pytest

from livecheck import console
from livecheck.cli import main
from livecheck.console import blind, blind_start
from livecheck.console.app import Console
from livecheck.console.replies import Known, Looked
from livecheck.console.waiting import WAIT_FOR, on_own_screen
from livecheck.records import Complaint, Machine
from tests.console.blind.support import CAPTURES
from tests.console.console_limits import until_shown
from tests.inventory.fake_host import FakeHost

CAPTURE = CAPTURES / "drive-1.capture.gz"


def _looked(complaint: Complaint | None, nameless: tuple[str, ...] = ()) -> Looked:
    known = None
    if complaint is not None:
        known = Known(
            case="c", ticket=None, complaint=complaint, runs=1, number=2, same_machine=True,
            cut_off=False, stopped=False, changes=(), damaged=(), cannot=(), lasted={},
            lasted_depth="quick",
        )  # fmt: skip
    return Looked(
        machine=Machine(), devices=0, parts=0, shop="", as_root=True, places=(), numbered=(),
        unnumbered=(), treated=(), kinds=(), known=known, nameless=nameless,
    )  # fmt: skip


DARK, SLOW = _looked(Complaint.NO_PICTURE), _looked(Complaint.SLOW)


@pytest.mark.parametrize(
    ("seconds", "looked", "screens", "why"),
    [
        (61, DARK, ("connected",), "no-key"),
        (59, DARK, ("connected",), None),
        (61, SLOW, ("connected",), None),
        (61, None, ("connected",), None),
        (61, _looked(None), ("connected",), None),
        # Measured at the shop's own computer: the case knows no machine by name.
        (61, _looked(None, ("41",)), ("connected",), "no-key"),
        (61, SLOW, ("disconnected", "disconnected"), "no-display"),
        (16, None, ("disconnected",), "no-display"),
        # Drivers come late.
        (5, None, ("disconnected",), None),
        (16, None, ("disconnected", "connected"), None),
        # An old analog output cannot tell, and a machine without a driver says nothing.
        (16, None, ("disconnected", "unknown"), None),
        (16, None, (), None),
    ],
)
def test_when_nobody_can_see_it(
    seconds: float, looked: Looked | None, screens: tuple[str, ...], why: str | None
) -> None:
    assert blind_start.why(seconds, looked, screens) == why


def test_connectors_are_asked_and_cards_are_not(monkeypatch: pytest.MonkeyPatch) -> None:
    """Linux, Documentation/ABI: /sys/class/drm/card0-eDP-1/status."""
    host = FakeHost({
        "/sys/class/drm/card0/status": "nonsense\n",
        "/sys/class/drm/card0-eDP-1/status": "connected\n",
        "/sys/class/drm/card0-HDMI-A-1/status": "disconnected\n",
        "/sys/class/drm/version": "drm 1.1.0\n",
    })  # fmt: skip
    monkeypatch.setattr(blind_start, "LiveHost", lambda: host)
    assert sorted(blind_start.screens()) == ["connected", "disconnected"]


def test_only_a_sticks_own_screen_is_watched(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither a terminal on a desk, nor the serial line of a stick."""
    first, second = pty.openpty()
    monkeypatch.setenv(WAIT_FOR, "/run/x")
    assert not on_own_screen(second)
    monkeypatch.setattr(os, "ttyname", lambda descriptor: "/dev/ttyS0")
    assert not on_own_screen()
    monkeypatch.setattr(os, "ttyname", lambda descriptor: "/dev/tty1")
    assert on_own_screen()
    monkeypatch.delenv(WAIT_FOR)
    assert not on_own_screen()
    os.close(first)
    os.close(second)


@pytest.fixture
def dark_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine with an open case for no picture; a minute is no time at all."""
    shop = tmp_path / "shop"
    shop.mkdir()
    words = ["--complaint", "no-picture", "--from", str(CAPTURE), "--shop", str(shop)]
    assert main(["run", *words]) == 0
    monkeypatch.setattr(blind_start, "NO_KEY_SECONDS", 0.0)
    monkeypatch.setattr(blind_start, "screens", lambda: ("connected",))
    return shop


@pytest.mark.parametrize(
    ("keys", "may_speak", "speaks"),
    [((), True, "no-key"), (("down",), True, None), ((), False, None)],
    ids=["nobody", "somebody", "elsewhere"],
)
async def test_the_console_gives_way_where_no_key_comes(
    dark_shop: Path, keys: tuple[str, ...], may_speak: bool, speaks: str | None
) -> None:
    app = Console(shop=dark_shop, source=CAPTURE, may_speak=may_speak)
    async with app.run_test(size=(80, 25)) as pilot:
        await pilot.press(*keys)
        if speaks is None:
            await until_shown(pilot, "Known here")
        for _ in range(10 if speaks is None else 400):
            app.watch_shop()
            await pilot.pause(0.05)
            if app.speaks:
                break
        assert app.speaks == speaks


@pytest.mark.parametrize("to_screen", [False, True])
def test_the_screen_comes_back_where_it_is_asked_for(
    monkeypatch: pytest.MonkeyPatch, to_screen: bool
) -> None:
    """And does not give way a second time."""
    begun: list[bool] = []
    because: list[str | None] = []

    class Shown:
        def __init__(self, shop: Path | None, may_speak: bool, language: str | None) -> None:
            self.speaks = "no-key" if may_speak else None
            begun.append(may_speak)

        def run(self, mouse: bool) -> int:
            return 0

    def spoken(shop: Path | None, source: Path | None, why: str | None, in_: str | None) -> bool:
        because.append(why)
        return to_screen

    monkeypatch.setattr("livecheck.console.app.Console", Shown)
    monkeypatch.setattr("livecheck.console.waiting.on_own_screen", lambda: True)
    monkeypatch.setattr(blind, "run", spoken)
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True, raising=False)
    monkeypatch.setattr(os, "nice", lambda by: 0)
    assert console.run(None) == 0
    assert because == ["no-key"]
    assert begun == [True, False] if to_screen else [True]
