"""How soon the console is there, and how soon it answers: ``python -m tests.benchmarks.console``.

Both apps are started in a pseudo-terminal of 80 by 25 with TERM=linux, by turns, and
timed from outside: until the first frame stands, and until a key pressed then shows.
``key under load`` is the time from a key to the screen it calls for while a run with
every probe goes on (the worker and its probes are real processes on this machine).
"""

from __future__ import annotations

import contextlib
import fcntl
import json
import os
import pty
import select
import signal
import statistics
import struct
import sys
import tempfile
import termios
import time
from collections.abc import Sequence

from livecheck.console import QUIET, RAW_CONSOLE

ROUNDS = 9
PRESSES = 60
FRAME = "What is wrong with it?"
BARE = (sys.executable, "-m", "tests.benchmarks.bare_console")
PATIENCE = 120.0


class Terminal:
    """A program in a pseudo-terminal; what it writes is kept as text."""

    def __init__(self, words: Sequence[str]) -> None:
        self.begun = time.monotonic()
        self._pid, self._pipe = pty.fork()
        if self._pid == 0:
            os.environ.update({**QUIET, **RAW_CONSOLE, "TERM": "linux"})
            os.execv(words[0], list(words))
        size = struct.pack("HHHH", 25, 80, 0, 0)
        fcntl.ioctl(self._pipe, termios.TIOCSWINSZ, size)
        self.text = ""

    def until(self, words: str, since: int = 0) -> float:
        """The time at which the words had been written; raises TimeoutError."""
        while words not in self.text[since:]:
            ready, _, _ = select.select([self._pipe], [], [], PATIENCE)
            if not ready:
                raise TimeoutError(f"{words!r} never came")
            self.text += os.read(self._pipe, 1 << 16).decode("utf-8", "replace")
        return time.monotonic()

    def drain(self, seconds: float) -> None:
        """Take what comes within a time."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0:
            if select.select([self._pipe], [], [], left)[0]:
                self.text += os.read(self._pipe, 1 << 16).decode("utf-8", "replace")

    def press(self, key: str, words: str) -> float:
        """Seconds from a key to the words it calls for."""
        since, begun = len(self.text), time.monotonic()
        os.write(self._pipe, key.encode())
        return self.until(words, since) - begun

    def end(self) -> None:
        """Kill it."""
        with contextlib.suppress(ProcessLookupError):
            os.kill(self._pid, signal.SIGTERM)
        with contextlib.suppress(OSError):
            while os.read(self._pipe, 1 << 16):
                pass
        os.close(self._pipe)
        os.waitpid(self._pid, 0)


def start(words: Sequence[str]) -> tuple[float, float]:
    """Seconds to the first frame, and to the first key shown."""
    terminal = Terminal(words)
    try:
        frame = terminal.until(FRAME) - terminal.begun
        terminal.press("t7", "7")
        return frame, time.monotonic() - terminal.begun
    finally:
        terminal.end()


def under_load(words: Sequence[str]) -> list[float]:
    """Seconds from key to screen, key by key, while every probe runs."""
    terminal = Terminal(words)
    try:
        terminal.until(FRAME)
        terminal.drain(1.0)
        terminal.press("\r", "FOUND")
        took = []
        for _ in range(PRESSES // 2):
            took.append(terminal.press("h", "While it runs".upper()))
            terminal.drain(0.1)
            took.append(terminal.press("h", "Found so far"))
            terminal.drain(0.1)
            if "livecheck : verdict" in terminal.text:
                break
        return took
    finally:
        terminal.press("x", "")
        terminal.end()


def measure() -> dict[str, float]:
    """All figures, in seconds but for the ratios and the count."""
    with tempfile.TemporaryDirectory() as folder:
        own = (sys.executable, "-c", _OWN.format(shop=folder))
        pairs = [(start(own), start(BARE)) for _ in range(ROUNDS)]
        frame, bare_frame = (statistics.median(p[i][0] for p in pairs) for i in (0, 1))
        usable, bare_usable = (statistics.median(p[i][1] for p in pairs) for i in (0, 1))
    with tempfile.TemporaryDirectory() as folder:
        keys = sorted(under_load((sys.executable, "-c", _OWN.format(shop=folder))))
    return {
        "first frame": frame,
        "first frame, bare app": bare_frame,
        "first frame, ratio": frame / bare_frame,
        "first key shown": usable,
        "first key shown, bare app": bare_usable,
        "first key shown, ratio": usable / bare_usable,
        "key under load, median": statistics.median(keys),
        "key under load, 95 of 100": keys[int(len(keys) * 0.95)],
        "key under load, longest": keys[-1],
        "keys pressed under load": len(keys),
    }


_OWN = (
    "from pathlib import Path; from livecheck import console; "
    "raise SystemExit(console.run(Path({shop!r})))"
)


def main() -> int:
    """Measure and print."""
    figures = measure()
    if "--json" in sys.argv[1:]:
        print(json.dumps(figures, indent=1))
        return 0
    for name, value in figures.items():
        print(f"{value:8.3f}  {name}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
