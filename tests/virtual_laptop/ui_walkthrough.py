"""Every complaint from power-on to the report, by the keyboard and the screen alone.

The screens are pictures of the guest's own display at the console's full size, 80x25 (the
size of the VGA text mode) and 1366x768 (a common panel). A character that the console's
font does not have, or a cell that is half drawn, reads as unread (see ``screen``).
"""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import msgspec

from livecheck import knowledge
from livecheck.diagnosis import worksheet
from livecheck.plan import WORKSHEETS
from livecheck.records import Complaint
from tests.virtual_laptop.flow import Seen
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.play import SECONDS_TO_BEGIN, SECONDS_TO_END, Bench, Start
from tests.virtual_laptop.scenarios import SOUND

TICKET: Final = "V7"
SECONDS_A_KEY: Final = 20.0
"""Time the guest has for answering a key before it is pressed again."""
LABEL: Final = "19.5 V 3.33 A"
MEASURED: Final = {
    "adapter-open-voltage": "19.4",
    "adapter-loaded-voltage": "19.2",
    "adapter-flex-voltage": "19.3",
    "jack-loose": "firm",
    "jack-resistance": "0.1",
    "signs-of-life": "no",
    "starts-without-battery": "same",
    "button": "0.4",
    "rail-resistance": "0.6",
    "current-at-press": "0.01",
    "external-screen": "picture",
    "own-screen": "faint",
    "start-code": "none",
    "coin-cell-voltage": "3.0",
}
"""A sound adapter and jack, and a rail that is shorted to ground; the lit panel is faint."""


class Size(msgspec.Struct, frozen=True, kw_only=True):
    """A display mode, and the cells of 8x16 dots it has room for."""

    append: str
    columns: int
    rows: int


SIZES: Final = {
    "80x25": Size(append="video=640x400", columns=80, rows=25),
    # The emulated adapter takes only widths that 8 divides: the columns are those of 1366.
    "1366x768": Size(append="video=1360x768", columns=170, rows=48),
}


class Look(msgspec.Struct, frozen=True, kw_only=True):
    """One screen: the keys that open it, what its title says, and the key that leaves it."""

    name: str
    keys: tuple[str, ...]
    title: str
    back: str = "esc"
    before: str = ""
    """Title of the screen at which the last key is pressed; empty: it needs no waiting for."""


FROM_VERDICT: Final = (
    Look(name="evidence", keys=("e",), title="evidence"),
    Look(name="step", keys=("n",), title="next step"),
    Look(name="parts", keys=("o",), title="parts sheet"),
)
TO_ORDER: Final = (Look(name="code", keys=("o", "k"), title="code"),)
FURTHER: Final = (
    Look(name="evidence-down", keys=("e", "end"), title="evidence"),
    Look(name="verdict-down", keys=("end",), title="verdict", back="home"),
    Look(name="help", keys=("f1",), title="help"),
    Look(name="tree", keys=("t",), title="parts and places"),
    Look(name="tree-all", keys=("t", "f"), title="parts and places"),
    Look(name="big", keys=("b",), title="big"),
    Look(name="cases", keys=("c",), title="cases"),
    Look(name="more", keys=("m",), title="more tests"),
    Look(name="meters", keys=("m", "ret"), title="meters"),
    Look(name="flex", keys=("m", "down", "ret"), title="flex test"),
    Look(name="guided", keys=("m", "down", "down", "ret"), title="guided checks"),
    Look(name="self-test", keys=("m", *("down",) * 3, "ret"), title="self-test"),
    Look(
        name="hand-over",
        keys=("m", *("down",) * 4, "ret", "d"),
        title="hand-over",
        before="guided checks",
    ),
    Look(name="outcome", keys=("m", *("down",) * 5, "ret"), title="outcome"),
)


class Walkthrough(msgspec.Struct, frozen=True, kw_only=True):
    """What one complaint's way showed."""

    complaint: str
    size: str
    columns: int
    rows: int
    screens: tuple[str, ...]
    unread_cells: int
    writes_to_internal_drives: int
    side: str
    report_bytes: int
    seconds: float


def walked(image: Path, folder: Path, complaint: Complaint, size: str) -> Walkthrough:
    """Power-on, ticket, complaint, run or worksheet, verdict and what it opens, power-off.

    The folder keeps a picture and a text of every screen, and the report.
    """
    began = time.monotonic()
    bench = Bench(image, folder, ())
    with bench.started(Start(laptop=SOUND), SIZES[size].append) as guest:
        seen = Seen(guest)
        seen.wait("start", "devices seen", SECONDS_TO_BEGIN)
        guest.press("t")
        guest.type(TICKET + "\n")
        seen.wait("complaint", TICKET)
        guest.press("home")
        for _ in range(list(Complaint).index(complaint)):
            guest.press("down")
        guest.press("ret")
        if complaint in WORKSHEETS:
            _measure(seen, complaint)
        else:
            seen.wait("running", "NOW", 120)
        seen.wait("verdict", "livecheck : verdict", SECONDS_TO_END)
        looks = FROM_VERDICT + (TO_ORDER if complaint in WORKSHEETS else ())
        looks += FURTHER if complaint is Complaint.INTAKE else ()
        for look in looks:
            _open(seen, look)
        size_seen = _cells(guest)
        written = guest.written()
        guest.press("p")
        seen.wait("off", "Switch", 30)
        guest.press("y")
        guest.ended(180)
    played = bench.finish(0.0)
    report = _report(folder)
    return Walkthrough(
        complaint=complaint.value,
        size=size,
        columns=size_seen[0],
        rows=size_seen[1],
        screens=tuple(seen.screens),
        unread_cells=sum(seen.unread().values()),
        writes_to_internal_drives=sum(n for name, n in written.items() if name != "stick")
        + len(played.changed),
        side=played.location["side"],
        report_bytes=report.stat().st_size,
        seconds=round(time.monotonic() - began, 1),
    )


def _measure(seen: Seen, complaint: Complaint) -> None:
    sheet = knowledge.worksheet()
    seen.wait("plug", "USB-C?")
    seen.guest.type("round\n")
    seen.wait("label", "Adapter's label")
    seen.guest.type(LABEL + "\n")
    for number, step in enumerate(worksheet.steps(complaint, sheet), 1):
        seen.wait(f"step-{number}-{step.name}", step.title)
        seen.guest.type(MEASURED[step.name] + "\n")


def _open(seen: Seen, look: Look) -> None:
    """Opens a screen, keeps it, and goes back until the verdict stands there again."""
    for number, key in enumerate(look.keys, 1):
        if look.before and number == len(look.keys):
            seen.guest.wait_for(f"livecheck : {look.before}", 120)
        seen.guest.press(key)
        time.sleep(1.0)
    seen.wait(look.name, f"livecheck : {look.title}", 120)
    for _ in range(4):
        seen.guest.press(look.back)
        # A busy guest may take seconds; a key pressed meanwhile would reach the next screen.
        ends = time.monotonic() + SECONDS_A_KEY
        while time.monotonic() < ends:
            time.sleep(0.5)
            lines = seen.guest.lines("back")
            if any("livecheck : verdict" in line for line in lines):
                return
            if not any(f"livecheck : {look.title}" in line for line in lines):
                break
    raise AssertionError(f"no way back from {look.name}:\n" + "\n".join(seen.guest.lines("back")))


def _cells(guest: Guest) -> tuple[int, int]:
    """Columns and rows of the display, in cells of 8x16 dots."""
    file = guest.folder / "back.ppm"
    width, height = map(int, file.read_bytes().split(b"\n", 2)[1].split())
    return width // 8, height // 16


def _report(folder: Path) -> Path:
    """The newest report on the shop drive, copied beside the pictures."""
    found = max((folder / "shop").rglob("report.html"), key=lambda file: file.stat().st_mtime)
    return Path(shutil.copy(found, folder / "report.html"))


def all_walkthroughs(
    image: Path,
    folder: Path,
    complaints: tuple[Complaint, ...],
    sizes: tuple[str, ...],
    each: Callable[[list[Walkthrough]], None],
) -> list[Walkthrough]:
    """Every complaint at every size; ``each`` is told what there is after each of them."""
    found: list[Walkthrough] = []
    for size in sizes:
        for complaint in complaints:
            own = folder / f"{size}-{complaint.value}"
            shutil.rmtree(own, ignore_errors=True)
            found.append(walked(image, own, complaint, size))
            each(found)
    return found


def merged(before: list[dict[str, Any]], found: list[Walkthrough], own: dict[str, Any]) -> str:
    """The record of all walkthroughs, each with its origin; the others stay as they were."""
    known = {(row["size"], row["complaint"]): row for row in before}
    known |= {(way.size, way.complaint): msgspec.to_builtins(way) | own for way in found}
    return json.dumps({"walkthroughs": [known[key] for key in sorted(known)]}, indent=1) + "\n"
