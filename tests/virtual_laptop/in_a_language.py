"""One whole case in a language, from the boot menu's key to the page its customer reads.

By keyboard and screen alone: a drive that cannot read everything, a known-good one in its
place, the check before the machine goes back, and what that proved. Every screen is kept as
text; ``english_left`` names what stands in English on it.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from livecheck import languages, wording
from livecheck.console.events import Task
from livecheck.console.workflows.tasks import MORE, OF_A_CASE
from livecheck.probes import registry
from livecheck.records import Complaint
from tests.virtual_laptop.faults import Unreadable
from tests.virtual_laptop.flow import Seen
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.laptop import Laptop
from tests.virtual_laptop.play import SECONDS_TO_BEGIN, SECONDS_TO_END, Bench, Start
from tests.virtual_laptop.scenarios import BADS, OTHER_NVME, WITH_NVME
from tests.virtual_laptop.stick import Stick

MENU_KEYS: Final = {"de": "d", "es": "s"}
"""As the boot menu names them."""
SMALL: Final = "video=640x400"
"""80x25 cells, the plain text console."""
TICKET: Final = "V8"
FIRST: Final = ("storage", "kernel", "pcie", "storage-read")
NAMES: Final = (
    *(TICKET, "livecheck", "March", "SSD", "DIMM", "WLAN", "acpitz", "share", "serial"),
    *("MB", "GB", "kB", "KiB", "Wh", "ms", "µs", "UTC"),
    *("I/O Error", "Unknown USB bridge", "TCG CPU version", "ten", "me"),
)
"""Words of no language: names, also cut short, units, and what kernel and tools say."""
HIDDEN: Final = (Unreadable(at="cedar", sectors=BADS),)
SECONDS: Final = 180.0
FROM_VERDICT: Final = (
    ("e", "evidence"), ("n", "next-step"), ("t", "tree"), ("o", "parts"), ("f1", "help"),
    ("c", "cases"),
)  # fmt: skip


class Way:
    """The technician at one start: what is pressed, and what is waited for."""

    def __init__(self, guest: Guest, language: str, number: int) -> None:
        self.guest, self.language = guest, language
        self.seen = Seen(guest)
        self._number = number
        self._passing: set[str] = set()

    def choose_language(self) -> None:
        """By the menu's key, pressed until the picture is no more that of firmware and menu: they
        write in text mode, and what is pressed later would reach the console."""

        def begun() -> bool:
            self.guest.press(MENU_KEYS[self.language])
            self.guest.tell("screendump", filename=str(self.guest.folder / "menu.ppm"))
            return (self.guest.folder / "menu.ppm").read_bytes().startswith(b"P6\n1024 ")

        self.guest.until(begun, SECONDS, "the boot menu's answer", every=1.0)

    def title(self, key: str) -> str:
        """What the first line of a screen begins with."""
        words = wording.catalogue(self.language)[f"where.{key}"]
        return f"livecheck : {words.partition(' : ')[0]}"

    def at(self, key: str, name: str = "", seconds: float = SECONDS) -> list[str]:
        """Waits for a screen, and keeps it."""
        return self.seen.wait(f"{self._number}-{name or key}", self.title(key), seconds)

    def press(self, *keys: str) -> None:
        for key in keys:
            self.guest.press(key)
            time.sleep(1.0)

    def leaves(self, before: list[str]) -> None:
        """Waits until the screen begins with other lines."""
        seen = self.guest.lines
        self.guest.until(lambda: seen()[: len(before)] != before, SECONDS, "another screen", 2.0)

    def look(self, key: str, where: str, back: str = "esc", home: str = "verdict") -> None:
        """Opens a screen from another one, and goes back."""
        self.press(key)
        self.at(where)
        self.press(back)
        self.guest.wait_for(self.title(home), SECONDS)

    def more(self, task: Task) -> None:
        """A task of the list of more tests."""
        self.press("m")
        self.at("more-tests")
        self.press(*["down"] * (*MORE, *OF_A_CASE).index(task), "ret")

    def whole_run(self, name: str = "") -> None:
        """Until the verdict; every line that stands there meanwhile is kept."""
        self.at("running")
        ends = time.monotonic() + 2 * SECONDS_TO_END
        while self.title("verdict") not in (lines := self.guest.lines())[0]:
            self._passing |= set(lines)
            assert time.monotonic() < ends, "\n".join(lines)
            time.sleep(6.0)
        self.seen.screens[f"{self._number}-passing"] = sorted(self._passing)
        self.at("verdict", name)

    def off(self) -> None:
        self.press("p")
        self.at("switch-off")
        self.press("y")
        self.guest.ended(SECONDS)


class Play:
    """The starts of one case."""

    def __init__(self, image: Path, folder: Path, language: str) -> None:
        self.folder, self.language = folder, language
        self._bench = Bench(image, folder, HIDDEN)
        _write_shop_file(self._bench.stick, folder, language)
        self.screens: dict[str, list[str]] = {}
        self.unread = 0

    @contextmanager
    def started(self, laptop: Laptop, by_menu: bool) -> Iterator[Way]:
        """Switched on, with the language's key pressed in the boot menu, or with its option."""
        self._bench.stick.by_menu = by_menu
        option = f"{SMALL} livecheck.language={self.language}"
        with self._bench.started(Start(laptop=laptop), SMALL if by_menu else option) as guest:
            way = Way(guest, self.language, self._bench.starts)
            try:
                if by_menu:
                    way.choose_language()
                yield way
            finally:
                self.screens |= way.seen.screens
                self.unread += sum(way.seen.unread().values())

    def first(self) -> None:
        """Ticket and complaint, what stands beside them, a run, and what its verdict opens."""
        with self.started(WITH_NVME, by_menu=True) as way:
            way.at("start", "looking", SECONDS_TO_BEGIN)
            way.seen.wait("1-start", _said(self.language, "start.kept"), SECONDS_TO_BEGIN)
            way.look("f1", "help", home="start")
            way.look("i", "intake-sheet", home="start")
            self._few_probes(way)
            way.press("t")
            way.guest.type(TICKET + "\n")
            # A key pressed before the bar is in the list would be the field's.
            way.at("start", "ticket")
            way.press("home", *["down"] * list(Complaint).index(Complaint.SLOW), "ret")
            way.whole_run()
            for key, where in FROM_VERDICT:
                way.look(key, where)
            way.look("b", "big", back="b")
            way.off()

    def _few_probes(self, way: Way) -> None:
        """What the first run is to make: the last one makes them all."""
        way.press("o")
        way.at("options")
        way.press("down", "ret")
        way.at("probes")
        names, at = [probe.name for probe in registry.ALL], 0
        for number in sorted(map(names.index, FIRST)):
            way.press(*["down"] * (number - at), "spc")
            at = number
        way.at("probes", "ticked")
        way.press("d")
        way.at("options", "chosen")
        way.press("d")
        way.at("start", "as-chosen")

    def second(self) -> None:
        """Another drive in the first one's place, a run; then the check before it goes back."""
        with self.started(WITH_NVME.swapped(m2_0=OTHER_NVME), by_menu=False) as way:
            way.at("resume", seconds=SECONDS_TO_BEGIN)
            way.press(*["down"] * self._row_of(way, "resume.known-good"), "ret")
            way.seen.wait("2-known-good", _said(self.language, "resume.pick-known-good"))
            way.press("ret", "d")
            way.at("resume", "recorded")
            way.press("s")
            way.whole_run()
            self.given_back(way)

    def given_back(self, way: Way) -> None:
        """From a verdict: the check before the machine goes back, and what the repair proved."""
        way.more(Task.HAND_OVER)
        self._to_last_run(way)
        way.whole_run("handed-over")
        way.more(Task.OUTCOME)
        way.at("outcome")
        way.press("ret")
        way.seen.wait("2-proved", _said(self.language, "ask.proved-yes")[:40])
        way.press("ret")
        way.at("verdict", "closed")
        way.off()

    def _row_of(self, way: Way, key: str) -> int:
        """How far below the first answer a line of the list stands."""
        lines = way.guest.lines()
        first = next(n for n, line in enumerate(lines) if _said(self.language, "resume.go") in line)
        wanted = _said(self.language, key)
        return next(n for n, line in enumerate(lines) if wanted in line) - first

    def _to_last_run(self, way: Way) -> None:
        """Past what may be asked before the run of a hand-over."""
        before = ["", ""]
        for number in range(10):
            way.leaves(before)
            lines = way.seen.wait(f"2-hand-over-{number}", "livecheck :")
            if way.title("running") in lines[0]:
                return
            before = lines[:2]
            way.press("ret" if _said(self.language, "ask.soak")[:30] in lines[1] else "d")
        raise AssertionError("no run before the hand-over:\n" + "\n".join(lines))

    def cases(self) -> list[Path]:
        """The cases on the shop drive, copied from the stick."""
        return self._bench.stick.copy_cases(self.folder / "shop")


def _said(language: str, key: str) -> str:
    """What a text begins with, as far as it has no field."""
    return wording.catalogue(language)[key].partition("{")[0].strip()


def played(image: Path, folder: Path, language: str) -> Play:
    """Both starts; the folder keeps pictures, texts and reports."""
    with languages.speaking(language):
        play = Play(image, folder, language)
        play.first()
        play.second()
    return play


def _write_shop_file(stick: Stick, folder: Path, language: str) -> None:
    """Reports are in the language that the shop's file names."""
    file = folder / "shop.toml"
    file.write_text(f'[shop]\nlanguage = "{language}"\n', "utf-8")
    stick.put_on_shop_drive(file)
