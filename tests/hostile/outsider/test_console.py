"""The console attacked by what is typed, pasted, clicked, resized, by its worker and its clock.

Sources: ECMA-48 (control sequences); xterm's "bracketed paste mode" for a paste as one event;
UAX 9 (signs that turn a line around); signal(7).
"""

from __future__ import annotations

import asyncio
import gzip
import random
import sys
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from pathlib import Path
from typing import Final

import pytest
from textual import events
from textual.pilot import OutOfBounds, Pilot
from textual.widgets import Input

from livecheck.casefile import CaseFolder, Shop
from livecheck.console.app import Console
from livecheck.console.link import WorkerLink
from livecheck.console.replies import Reply
from livecheck.console.requests import Job, SwitchOff
from livecheck.console.screens.pick import ConfirmScreen
from livecheck.console.screens.resume import ResumeScreen
from livecheck.console.screens.start import StartScreen
from livecheck.console.screens.verdict import VerdictScreen
from tests.console.console_limits import capture_of, shown, until, until_shown
from tests.hostile.outsider.test_words import EVIL, _steering

HOSTILE: Final = (
    "\x1b[2J\x1b]0;own\x07",
    "\u202etxet",
    "a\u200bb\u2066c",
    "\x9b31m",
    "Z" + "\u0301" * 99,
    "\ud800",
    "\x00\x08\x7f",
    "[bold red]x[/]",
    "\U000e0041",
)


@pytest.fixture(autouse=True)
def no_power_off(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[str]:
    """Nothing here switches a machine off: that it was asked for is noted, with what was shown."""
    asked: list[str] = []
    whole = WorkerLink.ask

    def ask(self: WorkerLink, job: Job) -> AsyncIterator[Reply]:
        if isinstance(job, SwitchOff):
            asked.append("off")
            return _nothing()
        return whole(self, job)

    monkeypatch.setattr(WorkerLink, "ask", ask)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return asked


async def _nothing() -> AsyncIterator[Reply]:
    none: tuple[Reply, ...] = ()
    for reply in none:
        yield reply


def _console(folder: Path) -> Console:
    (folder / "shop").mkdir(exist_ok=True)
    return Console(shop=folder / "shop", source=capture_of(0, 0, folder))


async def _to_verdict(pilot: Pilot[int], ticket: str = "T") -> None:
    await until(pilot, StartScreen)
    await pilot.press("t", *ticket, "enter", "end", "enter")
    await until(pilot, VerdictScreen)


async def _fields(pilot: Pilot[int]) -> AsyncIterator[Input]:
    """One field to type in after the other: ticket, intake, cases, notes, worksheet."""
    await until(pilot, StartScreen)
    await pilot.press("t")
    yield pilot.app.screen.query_one(Input)
    for keys in (("enter", "i", "enter", "end", "enter"), ("escape", "escape", "c", "f")):
        for key in keys:
            await pilot.press(key)
            await pilot.pause(0.2)
        if isinstance(pilot.app.focused, Input):
            yield pilot.app.focused


async def test_a_megabyte_is_pasted(tmp_path: Path) -> None:
    """T01: into each field; it keeps what fits, and the console answers the next key."""
    app, seen = _console(tmp_path), 0
    async with app.run_test(size=(80, 25)) as pilot:
        async for field in _fields(pilot):
            seen += 1
            begun = time.process_time()
            for text in ("W" * (1 << 20), "a b\n" * (1 << 18), EVIL["marks"] * 700):
                app.screen.post_message(events.Paste(text)) if app.focused is None else (
                    app.focused.post_message(events.Paste(text)))  # fmt: skip
                await pilot.pause(0.1)
            assert len(field.value) < 100_000
            assert time.process_time() - begun < 5, field
            field.value = ""
        assert seen >= 2
    assert app.return_code in (0, None)


async def test_steering_signs_are_typed_and_pasted(tmp_path: Path) -> None:
    """T02: none of them is drawn, and none gets into a name or a record."""
    app = _console(tmp_path)
    async with app.run_test(size=(80, 25)) as pilot:
        async for field in _fields(pilot):
            for text in HOSTILE:
                field.post_message(events.Paste(text))
                for letter in text[:9]:
                    field.post_message(events.Key(letter, letter))
                await pilot.pause(0.05)
                assert not _steering("\n".join(shown(app))), (field, text)
            field.value = ""
        await pilot.press(*["escape"] * 3)
        await until(pilot, StartScreen)
        await pilot.press("t")
        field = app.screen.query_one(Input)
        field.post_message(events.Paste("T\u202e1\x1b[2J\u200b"))
        await pilot.pause(0.2)
        await pilot.press("enter", "end", "enter")
        await until(pilot, VerdictScreen)
        assert not _steering("\n".join(shown(app)))
    (entry,) = Shop(tmp_path / "shop").entries()
    assert not _steering(Path(entry.path).name)
    for page in (tmp_path / "shop").rglob("*.html"):
        assert not _steering(page.read_text("utf-8"))


SMALL: Final = ((1, 1), (2, 1), (10, 3), (500, 200), (3, 200), (500, 2), (80, 25))
SCREENS: Final = ("", "e", "t", "n", "h", "b", "m", "o", "x", "w")


@pytest.mark.slow
async def test_any_size_of_any_screen(tmp_path: Path) -> None:
    """T03: from nothing to a wall of screens and back: 80x25 is drawn as it was."""
    app = _console(tmp_path)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        for size in SMALL:
            await pilot.resize_terminal(*size)
            await pilot.pause(0.05)
        await _to_verdict(pilot)
        for key in SCREENS:
            if key:
                await pilot.press(key)
                await pilot.pause(0.3)
            kind, before = type(app.screen), shown(app)
            for size in SMALL:
                await pilot.resize_terminal(*size)
                await pilot.pause(0.05)
            assert type(app.screen) is kind
            assert len(shown(app)) == len(before) == 25
            for _ in range(3):
                if not isinstance(app.screen, VerdictScreen):
                    await pilot.press("escape")
                    await pilot.pause(0.2)
            if not isinstance(app.screen, VerdictScreen):
                break
    assert app.return_code in (0, None)


KEYS: Final = (
    *"abcdefghiklmnoprstuvwx0123456789",
    "enter",
    "escape",
    "up",
    "down",
    "left",
    "right",
    "home",
    "end",
    "pageup",
    "pagedown",
    "tab",
    "shift+tab",
    "space",
    "backspace",
    "delete",
    *(f"f{n}" for n in range(1, 10)),
    "ctrl+l",
    "ctrl+t",
    "ctrl+a",
    "ctrl+u",
    "insert",
    "y",
    "n",
    "?",
    "/",
    "ctrl+z",
    "ctrl+k",
    "ctrl+w",
)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
async def test_a_storm_of_keys(seed: int, tmp_path: Path, no_power_off: list[str]) -> None:
    """T04: what is drawn by dice; switching off is asked about before it is done."""
    dice, app, questions = random.Random(seed), _console(tmp_path), 0
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        for number in range(600):
            if not app.is_running:
                break
            questions += isinstance(app.screen, ConfirmScreen)
            await pilot.press(dice.choice(KEYS))
            assert not _steering("\n".join(shown(app)))
            if number % 50 == 0:
                await pilot.pause(0.3)
        assert len(no_power_off) <= questions
    assert app.return_code in (0, None), app.return_code
    for entry in Shop(tmp_path / "shop").entries():
        damaged = CaseFolder(Path(entry.path)).load().damaged
        assert all("nothing was saved" in words for words in damaged)


@pytest.mark.slow
async def test_clicks_everywhere(tmp_path: Path) -> None:
    """T05: a mouse where none was meant; double, with keys held, on edges."""
    app = _console(tmp_path)
    async with app.run_test(size=(80, 25)) as pilot:
        await _to_verdict(pilot)
        for key in ("", "e", "t", "n", "h"):
            if key:
                await pilot.press(key)
                await pilot.pause(0.3)
            for x in range(0, 80, 13):
                for y in range(0, 25, 3):
                    try:
                        await pilot.click(offset=(x, y), times=1 + x % 2, shift=bool(y % 2))
                        await pilot.hover(offset=(79 - x, 24 - y))
                    except OutOfBounds:
                        continue
            for turned in (events.MouseScrollDown, events.MouseScrollUp):
                for _ in range(30):
                    app.screen.post_message(turned(None, 3, 3, 0, 1, 0, False, False, False))
            await pilot.press("escape")
            await pilot.pause(0.1)
            if not isinstance(app.screen, VerdictScreen):
                break
    assert app.return_code in (0, None)


WORKERS: Final = {
    "killed": "import os, signal; os.kill(os.getpid(), signal.SIGKILL)",
    "ends at once": "pass",
    "status 1": "raise SystemExit(1)",
    "noise": "import os; os.write(1, bytes(range(256)) * 99 + b'\\n')",
    "half a line": "import os; os.write(1, b'{\"type\": \"lo')",
    "no object": "print('[]\\n{}\\nnull\\n7', flush=True)",
    "another object": "print('{\"type\": \"wormhole\"}', flush=True)",
    "a line without end": "import os\nfor _ in range(90): os.write(1, b'x' * (1 << 20))",
    "killed in the middle": "import os, signal\nfrom livecheck.console import worker\n"
    "tell = worker._reply\n"
    "def once(reply):\n    tell(reply)\n"
    "    type(reply).__name__ == 'Happened' and os.kill(os.getpid(), signal.SIGKILL)\n"
    "worker._reply = once\nworker.main()",
}  # fmt: skip


def _other_worker(code: str) -> Callable[..., Awaitable[asyncio.subprocess.Process]]:
    whole = asyncio.create_subprocess_exec

    async def start(*words: str, **how: object) -> asyncio.subprocess.Process:
        return await whole(sys.executable, "-c", code, **how)  # type: ignore[arg-type]

    return start


@pytest.mark.parametrize("what", WORKERS)
async def test_a_worker_that_goes_wrong(
    what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """T06: it is told, and the next run, by a worker that works, is had."""
    app = _console(tmp_path)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        await until_shown(pilot, "Cases are kept in")
        with monkeypatch.context() as patched:
            patched.setattr(asyncio, "create_subprocess_exec", _other_worker(WORKERS[what]))
            await pilot.press("t", *"T-6", "enter", "end", "enter")
            for _ in range(300):
                await pilot.pause(0.1)
                if "answer" in " ".join(shown(app)) or "TROUBLE" in " ".join(shown(app)):
                    break
            else:
                raise AssertionError("nothing was told:\n" + "\n".join(shown(app)))
        assert app.is_running
        for _ in range(4):
            if not isinstance(app.screen, StartScreen | ResumeScreen):
                await pilot.press("escape")
                await pilot.pause(0.3)
        # A run that was cut off half-way has its case, which goes on.
        await until(pilot, StartScreen | ResumeScreen)  # type: ignore[arg-type]
        pressed: list[object] = []
        for _ in range(300):
            screen = app.screen
            if isinstance(screen, VerdictScreen):
                break
            if isinstance(screen, StartScreen | ResumeScreen) and screen not in pressed:
                pressed.append(screen)
                await pilot.press("s")
            await pilot.pause(0.1)
        assert isinstance(app.screen, VerdictScreen)
    entries = Shop(tmp_path / "shop").entries()
    assert len(entries) == 1


@pytest.mark.slow
@pytest.mark.parametrize("evil", ["turned", "marks", "controls", "one word", "planes"])
async def test_a_machine_of_hostile_words(evil: str, tmp_path: Path) -> None:
    """T07: the capture's own names are replaced; each screen is drawn, and nothing turns."""
    source = capture_of(0, 0, tmp_path)
    plain = gzip.decompress(source.read_bytes())
    words = EVIL[evil].replace("\x00", "").encode("utf-8", "replace").decode("utf-8", "ignore")
    packed = encode_text(words)
    for name in (b"Wander 14", b"OSTREVAR", b"Ostrevar", b"Talnau"):
        plain = plain.replace(name, packed)
    source.write_bytes(gzip.compress(plain))
    (tmp_path / "shop").mkdir()
    app = Console(shop=tmp_path / "shop", source=source)
    async with app.run_test(size=(80, 25)) as pilot:
        await _to_verdict(pilot)
        for key in ("", "e", "t", "n", "h", "w"):
            begun = time.process_time()
            if key:
                await pilot.press(key)
                await pilot.pause(0.3)
            assert not _steering("\n".join(shown(app))), key
            assert time.process_time() - begun < 10
            await pilot.press("escape")
            await pilot.pause(0.2)
            if not isinstance(app.screen, VerdictScreen):
                break


def encode_text(words: str) -> bytes:
    """As it stands within a string of JSON."""
    from json import dumps

    return dumps(words[:20_000])[1:-1].encode()


async def test_the_clock_runs_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """T08: a time server, or a dead clock, sets it back ten years while the run goes on."""
    app = _console(tmp_path)
    whole, since = time.time, time.time()
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        monkeypatch.setattr(time, "time", lambda: whole() - (3e8 if whole() - since > 1 else 0))
        await pilot.press("t", *"T-8", "enter", "end", "enter")
        for _ in range(600):
            await pilot.pause(0.05)
            told = " ".join(shown(app))
            assert " -" not in told.replace(" - ", " ") or "livecheck" in told
            assert not any(f"-{n} s" in told or f"-{n} min" in told for n in range(1, 10))
            if isinstance(app.screen, VerdictScreen):
                break
        await until(pilot, VerdictScreen)
