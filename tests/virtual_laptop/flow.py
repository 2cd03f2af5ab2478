"""A technician's way through one case, by the keyboard and the screen alone."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Final

from livecheck.casefile import CaseFolder
from tests.virtual_laptop.faults import Unreadable
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.play import SECONDS_TO_BEGIN, SECONDS_TO_END, Bench, Start
from tests.virtual_laptop.scenarios import BADS, SOUND
from tests.virtual_laptop.screen import UNREAD

TICKET: Final = "V9"
HIDDEN: Final = (Unreadable(at="alder", sectors=BADS),)


class Seen:
    """The screens passed, each with its text and its picture."""

    def __init__(self, guest: Guest) -> None:
        self.guest = guest
        self.screens: dict[str, list[str]] = {}

    def wait(self, name: str, words: str, seconds: float = 60.0) -> list[str]:
        """Waits for words, and keeps the screen once it stands still."""
        self.guest.wait_for(words, seconds)
        before: list[str] = []
        for _ in range(20):
            lines = self.guest.lines(name)
            if lines == before:
                break
            before = lines
            time.sleep(1.0)
        self.screens[name] = before
        (self.guest.folder / f"{name}.txt").write_text("\n".join(before) + "\n")
        return before

    def unread(self) -> dict[str, int]:
        """Cells that are no glyph of the console's font, a screen."""
        return {name: "".join(lines).count(UNREAD) for name, lines in self.screens.items()}


def whole_case(image: Path, folder: Path) -> Seen:
    """Start screen, ticket, complaint, run, verdict, its evidence, and the power key."""
    bench = Bench(image, folder, HIDDEN)
    with bench.started(Start(laptop=SOUND), "") as guest:
        seen = Seen(guest)
        seen.wait("1-start", "livecheck :", SECONDS_TO_BEGIN)
        guest.press("t")
        guest.type(TICKET + "\n")
        seen.wait("2-complaint", TICKET)
        guest.press("ret")
        seen.wait("3-running", "NOW", 120)
        seen.wait("4-verdict", "Evidence", SECONDS_TO_END)
        guest.press("e")
        seen.wait("5-evidence", "livecheck :")
        guest.press("esc")
        seen.wait("6-back", "Evidence")
        written = guest.written()
        guest.press("p")
        guest.press("y")
        guest.ended(120)
    assert not any(count for name, count in written.items() if name != "stick"), written
    bench.finish(0.0)
    return seen


def cut_off(image: Path, folder: Path, seconds: float) -> dict[str, object]:
    """Power is taken in the middle of a run; what then stands on the shop drive."""
    bench = Bench(image, folder, HIDDEN)
    bench.run(Start(laptop=SOUND, complaint="slow", cut=seconds))
    case = CaseFolder(bench.stick.copy_cases(folder / "shop")[-1])
    loaded = case.load()
    return {
        "cut_after_s": seconds,
        "runs": [r.number for r in loaded.runs],
        "finished": [r.finished for r in loaded.runs],
        "readings": [len(r.readings) for r in loaded.runs],
        "damaged": list(loaded.damaged),
        "said": [
            line
            for file in sorted(folder.glob("start-*/serial.log"))
            for line in file.read_text(errors="replace").splitlines()
            if ": done" in line
        ],
    }


def told(image: Path, folder: Path, cut: float | None) -> str:
    """Either of the two, as text for the terminal."""
    if cut is not None:
        return json.dumps(cut_off(image, folder, cut), indent=1)
    seen = whole_case(image, folder)
    return json.dumps({"screens": list(seen.screens), "unread_cells": seen.unread()}, indent=1)
