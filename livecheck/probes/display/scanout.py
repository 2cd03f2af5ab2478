"""What leaves a graphics chip for its screens: the same picture each time, cold and after a load?

Only read: the kernel's own choice of where in the pipe is taken, and no file is written to.
"""

from __future__ import annotations

import errno
import re
from collections.abc import Callable
from typing import Final, Protocol, runtime_checkable

import msgspec

from livecheck.graphics.frames import disturbed, parsed
from livecheck.host import UdevDevice, Unreadable
from livecheck.probes import Context
from livecheck.probes.finding import Finding, finding, unjudged

CHECK: Final = "display.scanout"
FOLDER: Final = "/sys/kernel/debug/dri"
SECONDS: Final = {"quick": 4.0, "full": 15.0, "soak": 15.0}
"""Each look at each pipe."""
_CARD: Final = re.compile(r"card(\d+)")
ENOUGH: Final = 30
"""Frames below which nothing is told (assumed): half a second."""


@runtime_checkable
class ScanHost(Protocol):
    """A host that can read checksums of what goes to a screen."""

    def frames(self, path: str, seconds: float, stopped: Callable[[], bool]) -> bytes:
        """What a ``crc/data`` of debugfs gives in this time (Linux, ``drm_debugfs_crc.c``)."""


class PipeLook(msgspec.Struct, frozen=True, kw_only=True):
    """One pipe for some seconds."""

    pipe: str
    when: str
    frames: int
    disturbed: int


class ScanOut:
    """The pipes of the chip that a render node is of."""

    def __init__(self, context: Context, node: UdevDevice) -> None:
        self._context = context
        chip = node.path.partition("/drm/")[0]
        cards = (d.name for d in context.host.udev("drm") if d.path.startswith(f"{chip}/drm/"))
        folders = [f"{FOLDER}/{match[1]}" for name in cards if (match := _CARD.fullmatch(name))]
        self._pipes = tuple(
            f"{folder}/{pipe}"
            for folder in folders
            for pipe in context.host.names(folder)
            if pipe.startswith("crtc-") and "crc" in context.host.names(f"{folder}/{pipe}")
        )
        self._looks: list[PipeLook] = []
        self._refused: str | None = None

    def look(self, when: str, stopped: Callable[[], bool]) -> None:
        """Every pipe that shows something, for some seconds."""
        host = self._context.host
        if not isinstance(host, ScanHost):
            return
        for pipe in self._pipes:
            try:
                data = host.frames(f"{pipe}/crc/data", SECONDS[self._context.depth], stopped)
            except Unreadable as error:
                if error.errno != errno.EIO:  # that is a pipe with no screen on it
                    self._refused = str(error)
                continue
            frames = parsed(data)
            self._looks.append(
                PipeLook(pipe=pipe, when=when, frames=len(frames), disturbed=disturbed(frames))
            )

    def found(self) -> Finding:
        """Whether frames were disturbed, in all looks together."""
        if not self._pipes:
            return unjudged(CHECK, "its driver tells no checksums of what goes to the screens")
        frames = sum(look.frames for look in self._looks)
        bad = sum(look.disturbed for look in self._looks)
        if frames < ENOUGH:
            why = f"{frames} frames came: no screen is on, or the panel shows its own memory's"
            return unjudged(CHECK, self._refused or why)
        least = self._context.knowledge.checks[CHECK].limits["frames"]
        says = f"{bad} of {frames} frames left the graphics chip disturbed."
        details = tuple(
            f"{look.pipe.rpartition('/')[2]}, {look.when}: {look.frames} frames, "
            f"{look.disturbed} disturbed"
            for look in self._looks
        )
        return finding(CHECK, bad >= least, bad, says, "frames").with_details(details)
