"""What guided checks do to the machine, and its struct layouts. No I/O here.

``GuideBench`` is the only way a guided check's shell touches anything: input devices, the
backlight, sound, the camera, a network interface. ``livecheck.guided.live`` is the real
one; tests bring their own.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from contextlib import AbstractContextManager
from typing import Final, Protocol

from livecheck.guided.events import Frames, Heard
from livecheck.guided.sights import Input

EVENT: Final = struct.Struct("@llHHi")
"""struct input_event of include/uapi/linux/input.h: seconds, microseconds, type, code, value."""
ABSINFO: Final = struct.Struct("@6i")
"""struct input_absinfo: value, minimum, maximum, fuzz, flat, resolution."""


class CannotAct(Exception):
    """It could not be done; says why, as a clause."""


class GuideBench(Protocol):
    """What can be done. Every method raises CannotAct and nothing else."""

    def events(self, node: str, alone: bool) -> int:
        """Descriptor of an input device's events, not blocking.

        ``alone``: nobody else gets its events until it is closed.
        """

    def read(self, descriptor: int) -> bytes:
        """What came in since; empty: nothing."""

    def close(self, descriptor: int) -> None:
        """Give an input device back."""

    def axis(self, node: str, number: int) -> tuple[int, int] | None:
        """Least and most value of an axis; None: it has no such axis."""

    def set_brightness(self, folder: str, value: int) -> None:
        """Brightness of a backlight in its own steps."""

    def play(self, card: str, hertz: float, seconds: float, level: float, channel: str) -> None:
        """A tone out of a sound card, to its end."""

    def listen(self, number: int, card: str, hertz: float, seconds: float, level: float) -> Heard:
        """The room, then a tone, as the card's microphone hears them."""

    def frames(self, number: int, node: str) -> Frames:
        """Figures of a few frames of a camera."""

    def switched_on(self, index: int) -> AbstractContextManager[bool]:
        """A network interface up meanwhile."""


def parse(data: bytes, path: str = "") -> Iterator[Input]:
    """Events of an input device; an incomplete one at the end is left out."""
    whole = len(data) - len(data) % EVENT.size
    for seconds, micro, kind, code, value in EVENT.iter_unpack(data[:whole]):
        yield Input(seconds=seconds + micro / 1e6, kind=kind, code=code, value=value, path=path)
