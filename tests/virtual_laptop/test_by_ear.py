"""The two starts that are played by ear, against the spoken flow itself, without an emulator.

The flow runs on recorded machines. What it says goes into a recording as noise of its own for
each sentence, and its codes into a log as QEMU writes it: ear and lamps are the played ones.
"""

from __future__ import annotations

import asyncio
import hashlib
import threading
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path

import numpy as np

from livecheck.casefile import Shop
from livecheck.console.blind.run import LISTEN_SECONDS
from livecheck.console.blind.session import Session
from livecheck.lamp_codes import Signal, steps
from livecheck.voice.presses import Press
from livecheck.voice.talk import Talk
from tests.console.blind.support import Switch, recorded
from tests.testbeds.screens import with_panel
from tests.virtual_laptop import by_ear
from tests.virtual_laptop.guest import Guest
from tests.virtual_laptop.hearing import Sound, Speaker

SECONDS = 60.0
KEYS = {by_ear.YES: Press.YES, by_ear.NO: Press.NO, by_ear.AGAIN: Press.AGAIN}


class Voice(Speaker):
    """Loudspeaker and speaker of the recording in one."""

    def __init__(self, folder: Path) -> None:
        self.file = folder / "speech.wav"
        self.said: list[str] = []
        head = bytearray(44)
        head[24:28] = by_ear.RATE.to_bytes(4, "little")
        self.file.write_bytes(head)

    def says(self, sentence: str) -> tuple[Sound, int]:
        dice = np.random.default_rng(list(hashlib.sha256(sentence.encode()).digest()))
        return np.round(dice.normal(0.0, 3000.0, by_ear.RATE)), by_ear.RATE

    def say(self, sentence: str, stopped: Callable[[], bool]) -> str | None:
        self.said.append(sentence)
        samples = self.says(sentence)[0].astype("<i2")
        with self.file.open("ab") as file:
            file.write(np.column_stack((samples, samples)).tobytes())
        return None


class Board:
    """The keyboard, and its lamps in the emulator's log."""

    def __init__(self, folder: Path) -> None:
        self.log = folder / "lamps.log"
        self.log.touch()
        self._pressed: deque[Press] = deque()
        self._at = 100.0

    def show(self, signal: Signal, beeps: bool) -> None:
        with self.log.open("a") as log:
            for lit, seconds in steps(signal):
                log.write(f"42@{self._at:.6f}:ps2_set_ledstate 0x55 ledstate {7 * lit}\n")
                self._at += seconds

    def press(self, key: str) -> None:
        self._pressed.append(KEYS.get(key, Press.OTHER))

    def waiting(self) -> bool:
        return bool(self._pressed)

    def forget(self) -> None:
        self._pressed.clear()

    async def next(self, seconds: float | None) -> Press | None:
        # Whoever plays answers what is asked, however slow the machine.
        brief = seconds is not None and seconds <= LISTEN_SECONDS
        ends = time.monotonic() + (LISTEN_SECONDS if brief else SECONDS)
        while not self._pressed and time.monotonic() < ends:
            await asyncio.sleep(0.01)
        return self._pressed.popleft() if self._pressed else None


class Bench(Guest):
    """What the played starts know of a guest."""

    def __init__(self, board: Board) -> None:
        self._board = board

    def press(self, *keys: str) -> None:
        for key in keys:
            self._board.press(key)

    def until(
        self, done: Callable[[], bool], seconds: float, what: str, every: float = 0.0
    ) -> None:
        ends = time.monotonic() + SECONDS
        while not done():
            assert time.monotonic() < ends, f"{what} did not come"
            time.sleep(0.05)


def test_both_starts_to_their_ends(tmp_path: Path) -> None:
    """The first start, the panel swapped, the second: two runs, a report, switched off twice."""
    shop = tmp_path / "shop"
    shop.mkdir()
    for number, play in enumerate((by_ear.first_start, by_ear.second_start), 1):
        folder = tmp_path / f"start-{number}"
        folder.mkdir()
        voice, board = Voice(folder), Board(folder)
        link = Switch(shop, recorded(tmp_path, with_panel(serial=0x70 + number)))
        talk = Talk(voice, board, board, lambda words: None)
        session = Session(talk, link, False)
        flow = threading.Thread(target=lambda s=session: asyncio.run(s.play()), daemon=True)
        flow.start()
        bench = Bench(board)
        ear = by_ear.Ear(bench, voice.file, voice)
        try:
            play(ear, by_ear.Lamps(bench, board.log))
        except AssertionError as error:
            raise AssertionError(f"{error}; said:\n" + "\n".join(voice.said)) from None
        flow.join(SECONDS)
        assert link.off == 1
    (entry,) = Shop(shop).entries()
    folder_of = Shop(shop).named(entry.case.id if entry.case else None)
    assert folder_of is not None and folder_of.report_file.is_file()
    assert [run.finished for run in folder_of.load().runs] == [True, True]
