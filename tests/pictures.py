"""Makes anew what stands in reports/: the demo's reports, the bench pages, the pictures.

They are made from the program itself: the console is driven by keys, the reports are opened.
``tests.remake`` runs it.
"""

from __future__ import annotations

import asyncio
import re
import shutil
import tempfile
from pathlib import Path
from typing import Final

from livecheck import demo, knowledge, record_format
from livecheck.console.app import Console
from livecheck.console.screens.start import StartScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.report.guide import checks_page, guide_page
from livecheck.report.record_format import record_format_page
from tests import manual
from tests.console.console_limits import capture_of, until
from tests.report.browser import browser

TOP: Final = Path(__file__).parent.parent
REPORTS: Final = TOP / "reports"
SCHEMA_FILE: Final = TOP / "shared" / "record.schema.json"
CELLS: Final = (100, 30)
ACROSS: Final = 1200
DOWN: Final = 1400
"""CSS pixels of a picture; a report is cut off below."""


def demo_reports(folder: Path, to: Path) -> None:
    """Play the demo into an empty folder; its reports go to ``case-N.html``."""
    for _ in demo.play(folder, knowledge.load()):
        pass
    for number, page in enumerate(sorted(folder.glob("livecheck-cases/*/report.html")), start=1):
        shutil.copyfile(page, to / f"case-{number}.html")


def bench_pages() -> dict[str, str]:
    """The pages of reports/ that belong to no case, by file name."""
    tables = knowledge.load()
    return {
        "guide.html": guide_page(tables),
        "checks.html": checks_page(tables),
        "record-format.html": record_format_page(),
    }


async def console_svg(folder: Path) -> str:
    """The console's verdict on the demo's first run, as SVG that loads nothing."""
    app = Console(shop=folder, source=capture_of(0, 0, folder))
    async with app.run_test(size=CELLS) as pilot:
        await until(pilot, StartScreen)
        await pilot.press("enter")
        await until(pilot, VerdictScreen)
        await pilot.pause(0.2)
        drawn = app.export_screenshot(title="livecheck")
        await pilot.press("q")
    # The stick's console has no window around it, so no buttons of one.
    return re.sub(r"@font-face\s*\{[^}]*\}|<circle[^>]*/>", "", drawn)


def write_pages() -> None:
    """Check table, guide, the format of records with its schema; man pages and completions."""
    manual.write()
    SCHEMA_FILE.write_text(record_format.text(), "utf-8")
    for file, html in bench_pages().items():
        (REPORTS / file).write_text(html, "utf-8")


def write_pictures() -> None:
    """The demo's reports, and pictures of one of them and of the console."""
    to = REPORTS / "demo"
    with tempfile.TemporaryDirectory() as name, browser() as page:
        folder = Path(name)
        demo_reports(folder / "demo", to)
        page.open(to / "case-1.html", width=ACROSS)
        page.picture(to / "report.png", height=DOWN)
        console = folder / "console"
        console.mkdir()
        drawing = folder / "console.svg"
        drawing.write_text(asyncio.run(console_svg(console)), "utf-8")
        shown = folder / "console.html"
        shown.write_text(
            f'<body style="margin:0"><img src="{drawing.name}" width="{ACROSS}" alt=""></body>',
            "utf-8",
        )
        page.open(shown, width=ACROSS)
        page.picture(to / "console.png", height=page.evaluate("document.images[0].height"))
