"""Ctrl+C, and a request to end, as an orderly stop: what was done by then is kept."""

from __future__ import annotations

import contextlib
import os
import signal
from collections.abc import Callable, Iterator
from types import FrameType
from typing import Final

from livecheck.commands.output import told

STDERR: Final = 2

SIGNALS: Final = (signal.SIGINT, signal.SIGTERM)
STOPPING: Final = "Stopping; what was read is kept and judged. Ctrl+C once more ends at once."


@contextlib.contextmanager
def stop_requests(says: str = "") -> Iterator[Callable[[], bool]]:
    """Whether an end was asked for; ``says`` is told then. A second Ctrl+C ends at once."""
    asked, says = False, told(says)

    def on_signal(number: int, frame: FrameType | None) -> None:
        nonlocal asked
        if asked:
            raise KeyboardInterrupt
        asked = True
        if says:
            # The signal may have come while standard error was written to: past its buffer.
            with contextlib.suppress(OSError):
                os.write(STDERR, f"{says}\n".encode())

    before = [(number, signal.signal(number, on_signal)) for number in SIGNALS]
    try:
        yield lambda: asked
    finally:
        for number, handler in before:
            signal.signal(number, handler)
