"""The command itself on a terminal of its own: keys as bytes in, sentences out."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import sys
import time
from pathlib import Path

import pytest

from livecheck.voice.presses import HELD_SECONDS
from tests.console.blind.support import CAPTURES

SECONDS = 60.0


class Player:
    """Waits for words and answers with keys."""

    def __init__(self, *words: str) -> None:
        self._master, slave = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "livecheck", "blind", *words],
            stdin=slave, stdout=slave, stderr=slave, env={**os.environ, "TERM": "linux"},
        )  # fmt: skip
        os.close(slave)
        self.said = ""

    def hear(self, words: str) -> None:
        """Read until they were said."""
        until = time.monotonic() + SECONDS
        while words not in self.said and time.monotonic() < until:
            if select.select([self._master], [], [], 0.2)[0]:
                try:
                    self.said += os.read(self._master, 4096).decode("utf-8", "replace")
                except OSError:
                    break
        assert words in self.said, self.said
        self.said = self.said.partition(words)[2]

    def press(self, keys: bytes) -> None:
        # A hand is not faster; the same key at once again would be one that is held.
        time.sleep(HELD_SECONDS)
        os.write(self._master, keys)

    def ended(self) -> int:
        """Its status."""
        return self.process.wait(SECONDS)

    def hang_up(self) -> None:
        os.close(self._master)


def test_it_is_played_by_three_keys_on_a_terminal(tmp_path: Path) -> None:
    source = CAPTURES / "port-1.capture.gz"
    player = Player("--shop", str(tmp_path), "--from", str(source))
    player.hear("livecheck speaks.")
    player.hear("The verdict.")
    player.hear("Shall it be looked at")
    # An arrow key begins with the same byte as Escape, and is no answer.
    player.press(b"\x1b[A")
    player.hear("That key means nothing here.")
    player.press(b" ")
    player.hear("Shall it be looked at")
    for question in ("Can that step", "Was a step done", "Shall the verdict", "Shall this machine"):
        player.press(b"\x1b")
        player.hear(question)
    # The terminal hangs up: nobody is there any more.
    player.hang_up()
    assert player.ended() == 0
    (report,) = tmp_path.glob("livecheck-cases/*/report.html")
    assert "most likely" in report.read_text("utf-8")


@pytest.mark.parametrize("source", ["none.capture.gz", "stories.toml"])
def test_a_capture_that_is_none_is_told(tmp_path: Path, source: str) -> None:
    player = Player("--shop", str(tmp_path), "--from", str(CAPTURES / source))
    player.hear("Trouble: ")
    player.hear("tried once more")
    player.press(b"\x1b")
    player.hear("livecheck speaks no more.")
    assert player.ended() == 0
