"""Every screen by keyboard alone, on what a raw Linux console can draw.

Outside sources: the glyph tables of Debian's console fonts (package
console-setup-linux), and the colour folding of the kernel's virtual terminal
(drivers/tty/vt/vt.c: eight backgrounds, bright foreground by the intensity bit).
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from pathlib import Path

import pytest
from rich.color import ColorSystem
from textual.pilot import Pilot
from textual.widgets import DataTable, Input, OptionList, Static

from livecheck import demo, knowledge
from livecheck.console.app import Console
from livecheck.console.screens.cases import CasesScreen
from livecheck.console.screens.details import EvidenceScreen, TreeScreen
from livecheck.console.screens.running import RunningScreen
from livecheck.console.screens.start import StartScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.probes import Progress, registry
from livecheck.probes.runner import Event
from livecheck.records import Outcome, ProbeRun, Reading
from tests.console.psf import characters

FONT = "Lat15-Fixed16"
SIZES = [(80, 25), (160, 50)]


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop drive with the demo's cases on it."""
    folder = tmp_path_factory.mktemp("shelf")
    for _ in demo.play(folder, knowledge.load()):
        pass
    return folder


@pytest.fixture
def first_capture(tmp_path: Path) -> Path:
    """The first run of the first story, as a capture file on disk."""
    import importlib.resources

    name = demo.stories()[0].runs[0].capture
    file = tmp_path / name
    file.write_bytes(importlib.resources.files("livecheck.demo").joinpath(name).read_bytes())
    return file


def drawn(app: Console) -> Iterator[tuple[str, int, int]]:
    """Every inked cell of the screen: character, foreground, background as VT colours 0-15."""
    for y in range(app.size.height):
        for segment in app.screen._compositor.render_strips()[y]:
            style = segment.style
            if style is None or segment.control:
                continue
            ink, paper = style.color, style.bgcolor
            front = 7 if ink is None else ink.downgrade(ColorSystem.STANDARD).number
            back = 0 if paper is None else paper.downgrade(ColorSystem.STANDARD).number
            front = 7 if front is None else front
            back = 0 if back is None else back
            if style.reverse:
                front, back = back, front
            for char in segment.text:
                yield char, front, back & 7


def assert_holds_on_the_console(app: Console) -> None:
    """No glyph the font lacks, no ink on paper of its own colour, nothing that is only a style."""
    font = characters(FONT)
    for char, front, back in drawn(app):
        if char.isspace():
            continue
        assert char in font, f"{char!r} (U+{ord(char):04X}) is not in {FONT}"
        assert front != back, f"{char!r} is drawn in colour {front} on {back}"


async def until(pilot: Pilot[int], kind: type, seconds: float = 60) -> None:
    """Wait for a screen, without guessing how long it takes."""
    for _ in range(int(seconds / 0.05)):
        await pilot.pause(0.05)
        if isinstance(pilot.app.screen, kind):
            await pilot.pause()
            return
    raise AssertionError(f"{kind.__name__} never came; {pilot.app.screen} is shown")


@pytest.mark.parametrize("size", SIZES)
async def test_a_run_from_start_to_verdict(
    size: tuple[int, int], first_capture: Path, tmp_path: Path
) -> None:
    """Ticket, Enter, complaint, Enter; the run; the verdict; evidence; tree; back; leave."""
    app = Console(shop=tmp_path, source=first_capture)
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        assert_holds_on_the_console(app)
        await pilot.press(*"T-9", "enter", "up")
        assert app.screen.query_one(Input).value == "T-9"
        assert isinstance(app.focused, OptionList)
        assert_holds_on_the_console(app)
        await pilot.press("enter")
        await until(pilot, VerdictScreen)
        assert_holds_on_the_console(app)
        await pilot.press("f3")
        await until(pilot, EvidenceScreen)
        assert app.screen.query_one(DataTable).row_count > 0
        assert_holds_on_the_console(app)
        await pilot.press("escape", "f4")
        await until(pilot, TreeScreen)
        assert_holds_on_the_console(app)
        await pilot.press("escape", "f1")
        await pilot.pause()
        assert_holds_on_the_console(app)
        await pilot.press("f10")
    saved = list((tmp_path / "livecheck-cases").iterdir())
    assert len(saved) == 1
    assert (saved[0] / "report.html").is_file()


@pytest.mark.parametrize("size", SIZES)
async def test_while_it_runs(size: tuple[int, int], tmp_path: Path) -> None:
    """Waiting, running, share done, findings and endings of every probe, as events come in."""
    app = Console(shop=tmp_path)
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        screen = RunningScreen(registry.ALL)
        await app.push_screen(screen)
        await pilot.pause()
        assert screen.query_one(DataTable).row_count == len(registry.ALL)
        first, second, third = registry.ALL[:3]
        lost = Reading(
            check="x", at="machine", outcome=Outcome.FAILED, says="[bold]data\x1b[2J lost"
        )
        over = ProbeRun(probe=third.name, seconds=1.0, ended="did not answer")
        for event in (
            Event(kind="started", probe=first.name, title=first.title),
            Event(kind="progress", probe=second.name, title=second.title,
                  progress=Progress(says="reading", done=0.4, seconds_left=12)),
            Event(kind="reading", probe=first.name, title=first.title, reading=lost),
            Event(kind="ended", probe=third.name, title=third.title, ended=over),
        ):  # fmt: skip
            screen.happened(event)
        await pilot.pause()
        assert_holds_on_the_console(app)
        cells = [str(c) for row in range(3) for c in screen.query_one(DataTable).get_row_at(row)]
        assert "running" in cells
        assert any("40%" in cell and "12 s left" in cell for cell in cells)
        assert any("did not answer" in cell for cell in cells)
        found = str(screen.query_one("#found", Static).render())
        # What a device says is shown as text: neither markup nor a terminal escape acts.
        assert "[bold]data" in found
        assert "\x1b" not in found


@pytest.mark.parametrize("size", SIZES)
async def test_the_shelf(size: tuple[int, int], shelf: Path, first_capture: Path) -> None:
    """Every case is listed; Enter opens its verdict, at both sizes."""
    app = Console(shop=shelf, source=first_capture)
    async with app.run_test(size=size) as pilot:
        await until(pilot, StartScreen)
        await pilot.press("f2")
        await until(pilot, CasesScreen)
        assert app.screen.query_one(DataTable).row_count == len(demo.stories())
        assert_holds_on_the_console(app)
        await pilot.press("enter")
        await until(pilot, VerdictScreen)
        assert_holds_on_the_console(app)


async def test_the_machine_is_known_again(shelf: Path, first_capture: Path) -> None:
    """At the next boot the case goes on by itself: ticket filled in, changes told."""
    app = Console(shop=shelf, source=first_capture)
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        for _ in range(600):
            await pilot.pause(0.05)
            before = str(app.screen.query_one("#before", Static).render())
            if before:
                break
        assert "Known here" in before
        assert app.screen.query_one(Input).value == demo.stories()[0].ticket


async def test_trouble_is_told_in_place(tmp_path: Path) -> None:
    """No shop drive: the message stays on screen, the app stays alive."""
    app = Console(shop=tmp_path / "gone")
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        for _ in range(600):
            await asyncio.sleep(0.05)
            await pilot.pause()
            shown = str(app.screen.query_one("#machine", Static).render())
            if "TROUBLE" in shown:
                break
        assert "mount the shop drive" in shown
        assert_holds_on_the_console(app)
