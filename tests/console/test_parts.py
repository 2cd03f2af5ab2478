"""The parts sheet by keyboard; its code is read back by a reference decoder (zxing-cpp)."""

from __future__ import annotations

from pathlib import Path

import numpy
import pytest
import zxingcpp
from textual.widgets import Static

from livecheck.console import glyphs
from livecheck.console.app import Console
from livecheck.console.screens.parts import CodeScreen, PartsScreen, largest
from livecheck.console.screens.pick import TellScreen
from livecheck.console.screens.resume import ResumeScreen
from livecheck.console.screens.verdict import VerdictList, VerdictScreen
from tests.console.console_limits import SIZES, assert_holds, until, until_shown
from tests.console.test_case_end import FOLDER, _replay


def read_back(rows: list[str]) -> str:
    """What a camera would read from the cells: light blocks on a dark screen."""
    cells = numpy.array([[255 if c == glyphs.FULL else 0 for c in row[::2]] for row in rows])
    picture = numpy.kron(cells, numpy.ones((4, 4))).astype(numpy.uint8)
    (found,) = zxingcpp.read_barcodes(picture)
    return str(found.text)


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
async def test_sheet_and_code(size: tuple[int, int], tmp_path: Path) -> None:
    """Whatever the verdict orders, else the component under the bar; the code if it has room."""
    _replay(tmp_path, "drive-1")
    _replay(tmp_path, "drive-2")
    app = Console(shop=tmp_path, source=FOLDER / "drive-2.capture.gz")
    async with app.run_test(size=size) as pilot:
        await until(pilot, ResumeScreen)
        await pilot.press("v")
        await until(pilot, VerdictScreen)
        await pilot.press("o")
        await pilot.pause(0.3)
        if isinstance(app.screen, TellScreen):
            assert_holds(app)
            await pilot.press("escape")
        else:
            await pilot.press("escape")
        screen = app.screen
        assert isinstance(screen, VerdictScreen)
        listed = screen.query_one(VerdictList)
        listed.highlighted = next(
            index
            for index in range(listed.option_count)
            if (listed.get_option_at_index(index).id or "").startswith("component:")
        )
        await pilot.press("o")
        await until(pilot, PartsScreen)
        assert_holds(app)
        await pilot.press("k")
        await until(pilot, CodeScreen)
        await until_shown(pilot, "lines")
        assert_holds(app)
        drawn = str(app.screen.query_one("#code", Static).render()).splitlines()
        if size[1] > 40:
            words = read_back([row for row in drawn if row.strip()])
            assert words.splitlines()[0].lower().startswith("drive")
        else:
            assert not drawn


@pytest.mark.parametrize(("columns", "rows"), [(200, 60), (160, 46), (120, 40), (80, 29)])
def test_codes_are_read_back(columns: int, rows: int) -> None:
    """As many lines as have room, exactly as they stand; never wider or higher than the room."""
    lines = ["drive T-9", *(f"trait {n}: value {n * 7} of it" for n in range(12))]
    drawn, held = largest(lines, columns, rows)
    assert drawn
    assert len(drawn) <= rows
    assert all(len(row) <= columns for row in drawn)
    assert read_back(drawn) == "\n".join(lines[:held])


def test_no_room_no_code() -> None:
    """The smallest code has 21 modules a side (ISO/IEC 18004, version 1) and a margin of two."""
    assert largest(["x"], 80, 24) == ([], 0)
    assert largest(["x"], 80, 25)[1] == 1
