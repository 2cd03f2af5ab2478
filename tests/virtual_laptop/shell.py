"""The root shell on the guest's second serial line (``livecheck.shell=ttyS1``)."""

from __future__ import annotations

import base64
import contextlib
import re
import socket
import threading
import time
from pathlib import Path
from typing import Final

from tests.virtual_laptop.guest import Guest

KERNEL_LINE: Final = 'livecheck.args="cases" livecheck.output=ttyS0 livecheck.shell=ttyS1'
"""One command that ends at once in place of the console, and the shell."""


def options(folder: Path) -> tuple[str, ...]:
    """QEMU's options for the line; the guest's first serial line is another."""
    return (
        "-chardev",
        f"socket,id=shell,path={folder / 'shell'},server=on,wait=off",
        "-device",
        "isa-serial,chardev=shell",
    )


class Shell:
    """Types lines and reads what comes back.

    It keeps a log of its own: QEMU's tells some characters twice on a busy machine.
    """

    def __init__(self, guest: Guest) -> None:
        self.guest = guest
        self._log = guest.folder / "shell.log"
        self._line = socket.socket(socket.AF_UNIX)
        self._line.connect(str(guest.folder / "shell"))
        self._marks = 0
        threading.Thread(target=self._drain, daemon=True).start()

    def _drain(self) -> None:
        # What is not taken off the socket would hold up the guest's line.
        with contextlib.suppress(OSError), self._log.open("ab", buffering=0) as log:
            while heard := self._line.recv(1 << 16):
                log.write(heard)

    def said(self) -> str:
        """All that came so far."""
        # Not as text: a carriage return alone, where a long line wraps, ends no line.
        heard = self._log.read_bytes() if self._log.exists() else b""
        return heard.decode(errors="replace").replace("\r", "")

    def type(self, words: str) -> None:
        self._line.sendall(words.encode() + b"\n")

    def put_aside(self) -> None:
        """Stops the command in the foreground, as Ctrl+Z does; processes apart from it go on."""
        self._line.sendall(b"\x1a")
        time.sleep(1.0)

    def ready(self, seconds: float) -> None:
        """Waits until the shell answers, as after a start; what stood there before is not it."""
        before, end = len(self.said()), time.monotonic() + seconds
        while time.monotonic() < end:
            self.type("echo here-$((40+2))")
            for _ in range(25):
                time.sleep(0.2)
                if "here-42" in self.said()[before:]:
                    return
            if not self.guest.running:
                raise RuntimeError(f"the guest ended: {self.guest.said()[-2000:]}")
        raise TimeoutError(f"no shell in {seconds:.0f} s: {self.said()[-500:]}")

    def begin(self, words: str) -> Job:
        """Types a command and does not wait for its end."""
        self._marks += 1
        start = len(self.said())
        self.type(f"{words}; echo over-$(({self._marks}+1000))-$?")
        return Job(self, start, f"over-{self._marks + 1000}-")

    def run(self, words: str, seconds: float) -> str:
        """A command's output."""
        job = self.begin(words)
        self.guest.until(job.over, seconds, f"the end of {words!r}")
        return job.said()

    def replace(self, name: str, content: bytes) -> None:
        """Puts a module of the running system's livecheck in place of its own.

        ``name``: such as ``casefile/atomic.py``. To try a change without building an image.
        """
        text = base64.b64encode(content).decode()
        for at in range(0, len(text), 1000):
            self.run(f"echo {text[at : at + 1000]} >> /tmp/module", 60)
        own = f"$(find / -xdev -path '*/livecheck/{name}' | head -n 1)"
        stem = name.removesuffix(".py").rpartition("/")[2]
        said = self.run(
            f"F={own}; rm -f $(dirname $F)/__pycache__/{stem}.*; base64 -d /tmp/module > $F && "
            "rm /tmp/module && echo put-$((1+1))",
            120,
        )
        assert "put-2" in said, said

    def clock(self) -> tuple[float, float]:
        """Guest's clock minus ours, and by how much that may be wrong; both in seconds."""
        tries = []
        for _ in range(5):
            before = time.time()
            job = self.begin("date +%s.%N")
            while not job.over():
                time.sleep(0.002)
            after = time.time()
            told = re.search(r"^(\d+\.\d+)$", job.said(), re.MULTILINE)
            if told:
                tries.append(((after - before) / 2, float(told[1]) - (before + after) / 2))
        wrong, offset = min(tries)
        return offset, wrong


class Job:
    """A command that was typed."""

    def __init__(self, shell: Shell, start: int, mark: str) -> None:
        self._shell, self._start, self._mark = shell, start, mark

    def said(self) -> str:
        """What it has said so far, with the typed line before it."""
        return self._shell.said()[self._start :]

    def over(self) -> bool:
        return self._mark in self.said()
