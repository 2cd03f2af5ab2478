"""What the technician asks of a probe while it runs: pause, go on, leave this one out.

A probe is told over a pipe, because it works in a process of its own. It looks when
it can: between two requests to a drive, never in the middle of one.
"""

from __future__ import annotations

import contextlib
import os
import signal
from types import FrameType

PAUSE, RESUME, SKIP = b"p", b"r", b"s"


class Control:
    """What the technician asks for: here nothing. Others inherit from this."""

    def paused(self) -> bool:
        """Whether work should rest now."""
        return False

    def skip(self) -> bool:
        """Whether what is being tested should be left out; True once for each time asked."""
        return False

    def deepened(self) -> bool:
        """Whether the active probes should be made at full depth from now on."""
        return False


NONE = Control()


class ControlReader(Control):
    """The probe's side of the pipe."""

    def __init__(self, descriptor: int) -> None:
        os.set_blocking(descriptor, False)
        self._descriptor = descriptor
        self._paused = False
        self._skips = 0

    def paused(self) -> bool:
        self._look()
        return self._paused

    def skip(self) -> bool:
        self._look()
        if not self._skips:
            return False
        self._skips -= 1
        return True

    def _look(self) -> None:
        with contextlib.suppress(BlockingIOError):
            for byte in os.read(self._descriptor, 64):
                word = bytes([byte])
                if word == SKIP:
                    self._skips += 1
                else:
                    self._paused = word == PAUSE


class ControlWriter:
    """The runner's side of the pipe; says each thing once."""

    def __init__(self, descriptor: int) -> None:
        os.set_blocking(descriptor, False)
        self._descriptor = descriptor
        self._paused = False

    def pause(self, wanted: bool) -> None:
        """Pass on whether to rest, when that changed."""
        if wanted != self._paused:
            self._paused = wanted
            self._send(PAUSE if wanted else RESUME)

    def skip(self) -> None:
        """Pass on that the present item is to be left out."""
        self._send(SKIP)

    def close(self) -> None:
        """No more is said."""
        os.close(self._descriptor)

    def _send(self, word: bytes) -> None:
        # A probe that is gone, or so stuck that its pipe is full, hears nothing any more.
        with contextlib.suppress(BrokenPipeError, BlockingIOError):
            os.write(self._descriptor, word)


class SignalControl(Control):
    """Control that comes to a process as signals: SIGUSR1 pauses and goes on, SIGUSR2 skips,
    SIGRTMIN deepens."""

    def __init__(self) -> None:
        self._paused = False
        self._skips = 0
        signal.signal(signal.SIGUSR1, self._toggle)
        signal.signal(signal.SIGUSR2, self._skip)
        self._deepened = False
        signal.signal(signal.SIGRTMIN, self._deepen)

    def paused(self) -> bool:
        return self._paused

    def skip(self) -> bool:
        if not self._skips:
            return False
        self._skips -= 1
        return True

    def _toggle(self, number: int, frame: FrameType | None) -> None:
        self._paused = not self._paused

    def _skip(self, number: int, frame: FrameType | None) -> None:
        self._skips += 1

    def deepened(self) -> bool:
        return self._deepened

    def _deepen(self, number: int, frame: FrameType | None) -> None:
        self._deepened = True


class StopRequest:
    """Notes a request to stop instead of dying of it, so that findings are handed on."""

    def __init__(self) -> None:
        self.asked = False

    def __enter__(self) -> StopRequest:
        self._old = signal.signal(signal.SIGTERM, self._note)
        return self

    def __exit__(self, *_: object) -> None:
        signal.signal(signal.SIGTERM, self._old)

    def _note(self, _signal: int, _frame: object) -> None:
        self.asked = True
