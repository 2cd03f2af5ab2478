"""Codes on the keyboard's lamps and the PC speaker: the imperative part.

Lamps are LEDs of the kernel's input layer (Documentation/leds/leds-class.rst), the speaker
an input device that takes tones (Documentation/input/event-codes.rst, EV_SND). What is
missing stays dark and silent; it is no trouble.
"""

from __future__ import annotations

import contextlib
import re
import threading
from collections.abc import Iterator
from typing import Final

from livecheck.guided.bench import EVENT
from livecheck.host import Host, text
from livecheck.lamp_codes import Signal, steps

LEDS: Final = "/sys/class/leds"
LAMPS: Final = ("capslock", "numlock", "scrolllock")
INPUTS: Final = "/sys/class/input"
NODES: Final = "/dev/input"
PC_SPEAKER: Final = "PC Speaker"
"""The name that the kernel's pcspkr driver gives itself (drivers/input/misc/pcspkr.c)."""
EV_SND: Final = 0x12
SND_TONE: Final = 0x02
"""Linux ``include/uapi/linux/input-event-codes.h``."""
HERTZ: Final = 1000


def lamps_of(host: Host) -> tuple[str, ...]:
    """Folders of the lamps of every keyboard."""
    names = host.names(LEDS)
    return tuple(f"{LEDS}/{name}" for name in names if name.rpartition("::")[2] in LAMPS)


def speaker_of(host: Host) -> str | None:
    """The node of the PC speaker; None where the machine has none."""
    events = (name for name in host.names(INPUTS) if name.startswith("event"))
    return next((f"{NODES}/{name}" for name in events
                 if text(host, f"{INPUTS}/{name}/device/name") == PC_SPEAKER), None)  # fmt: skip


def tone(hertz: int) -> bytes:
    """The event that starts a tone; 0 ends it."""
    return EVENT.pack(0, 0, EV_SND, SND_TONE, hertz)


def _before(host: Host, lamp: str) -> Iterator[tuple[str, str]]:
    """What is written to a lamp afterwards: its level, then what drove it, as its own key.

    Writing 0 takes that away (Documentation/ABI/testing/sysfs-class-led).
    """
    yield f"{lamp}/brightness", text(host, f"{lamp}/brightness") or "0"
    driven = re.search(r"\[(.+)\]", text(host, f"{lamp}/trigger") or "")
    if driven and driven[1] != "none":
        yield f"{lamp}/trigger", driven[1]


class Lamps:
    """Tells one code over and over until it is told another. Use as a context manager."""

    def __init__(self, host: Host) -> None:
        self._lamps = lamps_of(host)
        self._speaker = speaker_of(host)
        self._before = dict(item for one in self._lamps for item in _before(host, one))
        self._signal: Signal | None = None
        self._beeps = False
        self._changed = threading.Event()
        self._ended = False
        self._thread = threading.Thread(target=self._tell, daemon=True)

    def __enter__(self) -> Lamps:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._ended = True
        self._changed.set()
        self._thread.join()
        self._beep(0)
        for path, content in self._before.items():
            _write(path, content.encode())

    def show(self, signal: Signal, beeps: bool) -> None:
        """This code from now on; with ``beeps`` once out of the PC speaker too."""
        if signal is not self._signal or beeps:
            self._signal, self._beeps = signal, beeps
            self._changed.set()

    def _tell(self) -> None:
        while not self._ended:
            self._changed.clear()
            signal, beeps = self._signal, self._beeps
            self._beeps = False
            if signal is None:
                self._changed.wait()
                continue
            for lit, seconds in steps(signal):
                self._light(lit)
                if beeps:
                    self._beep(HERTZ if lit else 0)
                if self._changed.wait(seconds):
                    break

    def _light(self, lit: bool) -> None:
        for folder in self._lamps:
            _write(f"{folder}/brightness", b"1" if lit else b"0")

    def _beep(self, hertz: int) -> None:
        if self._speaker is not None:
            _write(self._speaker, tone(hertz))


def _write(path: str, data: bytes) -> None:
    with contextlib.suppress(OSError), open(path, "wb", buffering=0) as file:  # noqa: PTH123
        file.write(data)
