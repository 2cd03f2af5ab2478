"""What of a saved log is no evidence of this machine's own system, or was there before."""

from __future__ import annotations

import re
from collections import Counter
from typing import Final

from livecheck.kernel_log.saved import NEW_START
from livecheck.records import KernelEvent, Machine

_DMI: Final = re.compile(r"^DMI: (.*), BIOS ")
"""Maker, product and board of the machine that starts (drivers/firmware/dmi_scan.c)."""
_UNLIKE: Final = re.compile(r"[^ -~]")
_LINE: Final = re.compile(r"^(?:Kernel command|Command) line: (.*)")
LIVE: Final = "boot=live"
"""Our own stick's, and that of other systems started so (live-boot(7))."""


class Starts:
    """Whose start the log tells of, line by line."""

    def __init__(self, machine: Machine) -> None:
        named = f"{machine.vendor} {machine.product}" if machine.vendor and machine.product else ""
        # As far as both write it alike: long names are cut here, other letters spelt there.
        self._own = _plain(_UNLIKE.split(named)[0])
        self._why: str | None = None
        self._left_out: Counter[str] = Counter()

    def learn(self, line: str) -> None:
        """Take in one line of the kernel."""
        if line.startswith(NEW_START):
            self._why = None
        if self._why is not None:
            return
        if (dmi := _DMI.match(line)) is not None and not _plain(dmi[1]).startswith(self._own):
            self._why = f"of another machine ({dmi[1]})"
        elif (given := _LINE.match(line)) is not None and LIVE in given[1].split():
            self._why = "of a live system, such as livecheck's own stick"
        if self._why is not None:
            self._left_out[self._why] += 1

    @property
    def own(self) -> bool:
        """True as long as this start is one of the machine's own system."""
        return self._why is None

    def left_out(self) -> tuple[str, ...]:
        """A sentence for each whose starts were passed over."""
        return tuple(
            f"{'one start' if n == 1 else f'{n} starts'} in it: {why}"
            for why, n in self._left_out.items()
        )


class Once:
    """Messages that several files hold, or one file twice, count once."""

    def __init__(self) -> None:
        self._before: Counter[tuple[int, str]] = Counter()
        self._here: Counter[tuple[int, str]] = Counter()
        self._exact: set[tuple[float, str]] = set()

    def new_file(self) -> None:
        """What comes now may stand in the files before, too."""
        self._before |= self._here
        self._here = Counter()

    def fresh(self, event: KernelEvent) -> bool:
        """False: it was counted already. Within a second a file may say one thing often."""
        key, exact = (int(event.seconds), event.raw), (event.seconds, event.raw)
        known = not event.seconds.is_integer() and exact in self._exact
        self._exact.add(exact)
        self._here[key] += 1
        return not known and self._here[key] > self._before[key]


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
