"""A screen made of registers, at the far end of a channel."""

from __future__ import annotations

import errno
from collections.abc import Callable

from livecheck.host import UdevDevice, Unreadable
from tests.displayport.header import NAMES
from tests.inventory import edid_builder
from tests.inventory.fake_host import FakeHost

COUNTS = 0x210
LANES_HOLD = bytes([0x77, 0x00, 0x01, 0x01, 0x00, 0x00])


class Sink(FakeHost):
    """Two lanes at 2.7 Gbit/s, both whole; errors come by a rate, in seconds of its own clock."""

    def __init__(
        self,
        rate: Callable[[float], float] = lambda now: 0.0,
        clears: bool = True,
        counts: bool = True,
        devices: tuple[UdevDevice, ...] = (),
        files: dict[str, str | bytes | int] | None = None,
    ) -> None:
        super().__init__(files or {}, devices)
        self.now = 0.0
        self._rate, self._clears, self._counts = rate, clears, counts
        self._total = self._read = 0.0
        self.silent: Callable[[float], bool] = lambda now: False
        self.status: Callable[[float], bytes] = lambda now: LANES_HOLD
        self.asked = 0
        self.edid: Callable[[int], bytes] = lambda asked: edid_builder.panel()
        self.refreshing: Callable[[float], bool] = lambda now: False
        named = {"DPCD_REV": 0x11, "MAX_LINK_RATE": 0x0A, "MAX_LANE_COUNT": 0x84,
                 "LINK_BW_SET": 0x0A, "LANE_COUNT_SET": 0x82, "SET_POWER": 1,
                 "EDP_DPCD_REV": 2}  # fmt: skip
        self.registers = {NAMES[f"DP_{name}"]: value for name, value in named.items()}

    def clock(self) -> float:
        return self.now

    def wait(self, seconds: float) -> None:
        for _ in range(10):
            self.now += seconds / 10
            self._total += self._rate(self.now) * seconds / 10

    def aux(self, device: str, offset: int, length: int) -> bytes:
        if self.silent(self.now):
            raise Unreadable(device, errno.ETIMEDOUT)
        if offset == NAMES["DP_LANE0_1_STATUS"]:
            return self.status(self.now)[:length]
        if offset == COUNTS:
            return self._errors()[:length]
        if offset == NAMES["DP_PSR_ERROR_STATUS"]:
            return bytes([0, 0, 2 if self.refreshing(self.now) else 0])
        return bytes(self.registers.get(n, 0) for n in range(offset, offset + length))

    def edid_block(self, device: str) -> bytes:
        if self.silent(self.now):
            raise Unreadable(device, errno.ENXIO)
        self.asked += 1
        return self.edid(self.asked)

    def _errors(self) -> bytes:
        if not self._counts:
            return bytes(8)
        value = min(0x7FFF, int(self._total - self._read))
        if self._clears:
            self._read = self._total
        return (0x8000 | value).to_bytes(2, "little") + b"\x00\x80" + bytes(4)
