"""The real bench: device nodes of this machine (include/uapi/linux/input.h for the ioctls)."""

from __future__ import annotations

import contextlib
import fcntl
import os
import struct
import time
from collections.abc import Iterator
from typing import Final

from livecheck.guided import alsa, v4l2
from livecheck.guided.bench import ABSINFO, CannotAct
from livecheck.guided.events import Frames, Heard
from livecheck.host import Unreadable
from livecheck.live_host import LiveHost

EVIOCGRAB: Final = 0x40044590
EVIOCSCLOCKID: Final = 0x400445A0
EVIOCGABS: Final = 0x80184540
"""For axis 0; the axis is added."""
EVIOCGKEY: Final = 0x80604518
"""Into 96 bytes: one bit for each key that is down (KEY_MAX 0x2ff)."""
CLOCK_MONOTONIC: Final = 1
RELEASE_SECONDS: Final = 1.0
READ_BYTES: Final = 24 * 256


class LiveBench:
    """This machine's input devices, backlight, sound, camera and network."""

    def events(self, node: str, alone: bool) -> int:
        try:
            descriptor = os.open(node, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
        except OSError as error:
            raise CannotAct(_why(node, error)) from error
        try:
            # The same clock as the check's other events; older kernels have it too.
            fcntl.ioctl(descriptor, EVIOCSCLOCKID, struct.pack("@i", CLOCK_MONOTONIC))
            if alone:
                _let_go(descriptor)
                fcntl.ioctl(descriptor, EVIOCGRAB, 1)
        except OSError as error:
            os.close(descriptor)
            raise CannotAct(_why(node, error)) from error
        return descriptor

    def read(self, descriptor: int) -> bytes:
        try:
            return os.read(descriptor, READ_BYTES)
        except BlockingIOError:
            return b""
        except OSError as error:
            raise CannotAct(f"the input device is gone ({error.strerror})") from error

    def close(self, descriptor: int) -> None:
        # Closing gives up the grab too.
        with contextlib.suppress(OSError):
            os.close(descriptor)

    def axis(self, node: str, number: int) -> tuple[int, int] | None:
        descriptor = self.events(node, False)
        room = bytearray(ABSINFO.size)
        try:
            fcntl.ioctl(descriptor, EVIOCGABS + number, room)
        except OSError:
            return None
        finally:
            self.close(descriptor)
        _, least, most, *_ = ABSINFO.unpack(room)
        return (least, most) if most > least else None

    def set_brightness(self, folder: str, value: int) -> None:
        path = f"{folder}/brightness"
        try:
            with open(path, "w", encoding="ascii") as file:  # noqa: PTH123 (umockdev traps open)
                file.write(f"{value}\n")
        except OSError as error:
            raise CannotAct(_why(path, error)) from error

    def play(self, card: str, hertz: float, seconds: float, level: float, channel: str) -> None:
        with alsa.opened(card) as sound:
            sound.play(hertz, seconds, level, channel)

    def listen(self, number: int, card: str, hertz: float, seconds: float, level: float) -> Heard:
        with alsa.opened(card) as sound:
            return sound.listen(number, hertz, seconds, level)

    def frames(self, number: int, node: str) -> Frames:
        return v4l2.frames(number, node)

    @contextlib.contextmanager
    def switched_on(self, index: int) -> Iterator[bool]:
        try:
            with LiveHost().switched_on(index) as changed:
                yield changed
        except Unreadable as error:
            raise CannotAct(str(error)) from error


def _let_go(descriptor: int) -> None:
    """Wait for the key that began the check: grabbed now, its release would be missed."""
    until = time.monotonic() + RELEASE_SECONDS
    while time.monotonic() < until and any(fcntl.ioctl(descriptor, EVIOCGKEY, bytes(96))):
        time.sleep(0.02)


def _why(path: str, error: OSError) -> str:
    return f"{path}: {error.strerror} (run as root)"
