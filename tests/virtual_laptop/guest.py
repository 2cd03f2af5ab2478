"""One start of a virtual laptop: QEMU, its monitor, its screen and its keys."""

from __future__ import annotations

import contextlib
import os
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from qemu.qmp.legacy import QEMUMonitorProtocol

from tests.virtual_laptop import acpi, screen

FONT: Final = "Lat15-Fixed16"
KEYS: Final = {
    " ": "spc", "-": "minus", ".": "dot", "/": "slash", ",": "comma", "=": "equal",
    ";": "semicolon", "\n": "ret", "\t": "tab",
}  # fmt: skip


class Guest:
    """A running guest; ends with the block, however it ended."""

    def __init__(self, command: list[str], folder: Path, page: acpi.Page) -> None:
        self.folder, self.page = folder, page
        self.serial = folder / "serial.log"
        self._socket = folder / "monitor"
        self._log = (folder / "qemu.log").open("w")
        self.process = subprocess.Popen(
            [
                *command,
                "-serial",
                f"file:{self.serial}",
                "-qmp",
                f"unix:{self._socket},server,nowait",
            ],
            stdout=self._log,
            stderr=subprocess.STDOUT,
        )
        self.started = time.monotonic()
        self._read: tuple[bytes, list[str]] = (b"", [])
        self._monitor = self._connect()

    def __enter__(self) -> Guest:
        return self

    def __exit__(self, *_: object) -> None:
        self.cut()

    def _connect(self) -> QEMUMonitorProtocol:
        self.until(self._socket.exists, 20, "QEMU's monitor")
        monitor = QEMUMonitorProtocol(str(self._socket))
        monitor.connect(negotiate=True)
        return monitor

    @property
    def running(self) -> bool:
        return self.process.poll() is None

    def tell(self, command: str, **arguments: object) -> Any:
        """One command of the QEMU machine protocol; returns what QEMU answers."""
        return self._monitor.cmd(command, **arguments)

    def until(
        self, done: Callable[[], bool], seconds: float, what: str, every: float = 0.2
    ) -> None:
        """Waits for something; fails loudly when it does not come or the guest has ended.

        The seconds are those in which the guest worked, as long as that is not four times
        as many: on a crowded machine an emulated processor gets little time.
        """
        begun, worked = time.monotonic(), self.worked()
        while not done():
            passed = time.monotonic() - begun
            if passed > seconds and (passed > 4 * seconds or self.worked() - worked > seconds):
                raise TimeoutError(f"{what} did not come in {seconds:.0f} s")
            if not self.running:
                raise RuntimeError(f"the guest ended before {what}: {self.said()[-2000:]}")
            time.sleep(every)

    def worked(self) -> float:
        """Seconds of processor time that QEMU had: proc(5), /proc/PID/stat, utime and stime."""
        try:
            told = Path(f"/proc/{self.process.pid}/stat").read_text()
        except OSError:
            return 0.0
        user, system = told.rpartition(")")[2].split()[11:13]
        return (int(user) + int(system)) / os.sysconf("SC_CLK_TCK")

    def said(self) -> str:
        """What came out of the serial line, and QEMU's own complaints."""
        heard = self.serial.read_text(errors="replace") if self.serial.exists() else ""
        return heard + (self.folder / "qemu.log").read_text(errors="replace")

    def ended(self, seconds: float) -> None:
        """Waits for the guest to switch itself off."""
        try:
            self.process.wait(seconds)
        except subprocess.TimeoutExpired:
            raise TimeoutError(f"not off after {seconds:.0f} s: {self.said()[-2000:]}") from None

    def cut(self) -> None:
        """Takes the power away, this instant."""
        if self.running:
            self.process.kill()
            self.process.wait()
        with contextlib.suppress(OSError, EOFError):  # it went with the power
            self._monitor.close()
        self._log.close()
        self.page.close()

    def written(self) -> dict[str, int]:
        """Write operations of every drive by its node's name, as QEMU counted them."""
        rows = self.tell("query-blockstats")
        return {
            row.get("device") or row.get("qdev", ""): row["stats"]["wr_operations"] for row in rows
        }

    def lines(self, picture: str = "screen") -> list[str]:
        """The screen's text; the picture is kept beside the other files of this start."""
        file = self.folder / f"{picture}.ppm"
        self.tell("screendump", filename=str(file))
        # Reading takes a second, and what is waited for mostly stands still meanwhile.
        if self._read[0] != (dots := file.read_bytes()):
            self._read = (dots, screen.read(screen.Picture(dots), FONT))
        return list(self._read[1])

    def wait_for(self, words: str, seconds: float = 240) -> list[str]:
        """Waits until the words stand on the screen; returns its lines."""
        lines: list[str] = []

        def there() -> bool:
            nonlocal lines
            lines = self.lines()
            return any(words in line for line in lines)

        try:
            # Reading a screen whose cursor blinks takes a second of the guest's processors.
            self.until(there, seconds, f"{words!r} on the screen", every=2.0)
        except TimeoutError as error:
            raise TimeoutError(f"{error}; it shows:\n" + "\n".join(lines)) from None
        return lines

    def type(self, text: str) -> None:
        """Presses keys as a technician would, a character at a time."""
        for character in text:
            key = KEYS.get(character, character.lower())
            self.press(*(["shift"] if character.isupper() else []), key)

    def press(self, *keys: str) -> None:
        """One chord, in QEMU's names for keys (``ret``, ``esc``, ``f2``, ``down``)."""
        codes = [{"type": "qcode", "data": key} for key in keys]
        self.tell("send-key", keys=codes)
        time.sleep(0.15)
