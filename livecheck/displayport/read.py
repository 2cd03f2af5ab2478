"""Reading a screen's registers through the kernel's AUX device, a few short blocks each time."""

from __future__ import annotations

from typing import Final

from livecheck.displayport.errors import BIT_ERROR_RATE, SymbolErrors, allowed
from livecheck.displayport.registers import Dpcd, Screen, decode
from livecheck.host import Host, ScreenHost, Unreadable

Registers = dict[int, int]
"""Address -> byte."""

STEADY: Final = (
    (Dpcd.DPCD_REV, 16),
    (Dpcd.SUPPORTED_LINK_RATES, 16),
    (Dpcd.LINK_BW_SET, 16),
    (Dpcd.LINK_RATE_SET, 1),
    (Dpcd.SET_POWER, 1),
    (Dpcd.EDP_DPCD_REV, 1),
    (Dpcd.EDP_DISPLAY_CONTROL, 1),
)
"""Address and length of what stays as it is while the screen shows a picture."""
STATUS: Final = (Dpcd.LANE0_1_STATUS, 6)
COUNTS: Final = (Dpcd.SYMBOL_ERROR_COUNT_LANE0, 8)
SELF_REFRESH: Final = (Dpcd.PSR_ERROR_STATUS, 3)


def read_blocks(host: Host, device: str, *blocks: tuple[int, int]) -> Registers:
    """The registers of these blocks, those left out that could not be read.

    ``device``: the kernel's name of the channel.
    """
    found: Registers = {}
    if not isinstance(host, ScreenHost):
        return found
    for start, length in blocks:
        try:
            data = host.aux(f"/dev/{device}", start, length)
        except Unreadable:
            continue
        found |= dict(zip(range(start, start + length), data, strict=False))
    return found


class LinkWatch:
    """Looks at one screen's link, again and again."""

    def __init__(self, host: Host, device: str) -> None:
        self._host, self._device = host, device
        self._steady = read_blocks(host, device, *STEADY)
        self._begun = self._now = host.clock()
        self._count = SymbolErrors()
        self.screens: list[Screen] = []
        """What each look that was answered saw."""
        self.unanswered = 0
        self.new = 0
        """Errors since the look before the last one."""

    def look(self) -> Screen | None:
        """One look; None: the screen did not answer."""
        first = read_blocks(self._host, self._device, STATUS, COUNTS, SELF_REFRESH)
        second = read_blocks(self._host, self._device, COUNTS)
        self._now = self._host.clock()
        if Dpcd.LANE0_1_STATUS not in first:
            self.unanswered += 1
            return None
        now = decode(self._steady | first)
        self.new = self._count.look(now, decode(self._steady | first | second))
        self.screens.append(now)
        return now

    @property
    def errors(self) -> int | None:
        """Symbol errors so far, of all lanes; None: the screen counts none."""
        return self._count.total if self._count.counted else None

    @property
    def lanes(self) -> tuple[int, ...]:
        """Errors of each lane."""
        return tuple(self._count.lanes)

    @property
    def seconds(self) -> float:
        """From the first look to the last."""
        return self._now - self._begun

    def allowed_in(self, seconds: float) -> float:
        """Errors that a sound link may have in so long."""
        return allowed(self.screens, seconds)

    def too_many(self, rate: float = BIT_ERROR_RATE) -> bool | None:
        """Whether there were more than a sound link may have; None: none were counted."""
        if self.errors is None:
            return None
        return self.errors > allowed(self.screens, self.seconds, rate)
