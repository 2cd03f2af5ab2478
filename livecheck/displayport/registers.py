"""What a screen's registers say. Pure; never raises, and what was not read is None."""

from __future__ import annotations

from collections.abc import Mapping
from enum import IntEnum
from typing import Final

from livecheck.records import Record


class Dpcd(IntEnum):
    """Addresses, by the names of drm_dp.h without ``DP_``."""

    DPCD_REV = 0x000
    MAX_LINK_RATE = 0x001
    MAX_LANE_COUNT = 0x002
    SUPPORTED_LINK_RATES = 0x010
    LINK_BW_SET = 0x100
    LANE_COUNT_SET = 0x101
    MAIN_LINK_CHANNEL_CODING_SET = 0x108
    LINK_RATE_SET = 0x115
    LANE0_1_STATUS = 0x202
    LANE2_3_STATUS = 0x203
    LANE_ALIGN_STATUS_UPDATED = 0x204
    SINK_STATUS = 0x205
    SYMBOL_ERROR_COUNT_LANE0 = 0x210
    """Two bytes a lane. Not in drm_dp.h; VESA DisplayPort 1.1a, from memory, and several drivers:
    the lower byte comes first, and the highest bit says that the count is valid."""
    SET_POWER = 0x600
    EDP_DPCD_REV = 0x700
    EDP_DISPLAY_CONTROL = 0x720
    PSR_ERROR_STATUS = 0x2006
    PSR_STATUS = 0x2008


LANE_BITS: Final = {1: "clock recovery", 2: "channel equalization", 4: "symbol lock"}
"""Of a lane's half byte: all three are set on a link that carries a picture."""
EDP_REVISIONS: Final = ("1.1", "1.2", "1.3", "1.4", "1.4a", "1.4b", "1.5")
PSR_ERRORS: Final = {1: "link CRC", 2: "frame buffer", 4: "data packet"}
GBPS_A_STEP: Final = 0.27
"""Of Dpcd.LINK_BW_SET, for a lane (8b/10b)."""
GBPS_A_FINE_STEP: Final = 0.0002
"""Of the table of rates of eDP 1.4."""
FAST_GBPS: Final = {1: 10.0, 2: 20.0, 4: 13.5}
"""Dpcd.LINK_BW_SET with 128b/132b coding."""
COUNT_VALID: Final = 0x8000


class Screen(Record, frozen=True, kw_only=True):
    """One look at a screen's registers; None: not read, or not told."""

    revision: str | None = None
    """Of the register map."""
    max_lanes: int | None = None
    max_gbps: float | None = None
    """Of a lane."""
    lanes: int | None = None
    """In use."""
    gbps: float | None = None
    troubles: tuple[str, ...] | None = None
    """What the link has lost: ``lane 1: symbol lock``, ``the lanes are not aligned``."""
    in_sync: bool | None = None
    """The screen has a picture to show."""
    errors: tuple[int | None, ...] = ()
    """Symbol errors of each lane in use since they were read last; None: it does not count."""
    awake: bool | None = None
    edp: str | None = None
    """Revision of Embedded DisplayPort: the panel is one inside a machine."""
    black: bool | None = None
    """The panel was told to show black."""
    refreshing: bool | None = None
    """It shows a picture of its own memory, and the link may be off meanwhile."""
    refresh_errors: tuple[str, ...] = ()


def decode(registers: Mapping[int, int]) -> Screen:
    """The registers at their addresses; those that are missing were not read."""
    lanes = _lanes(registers.get(Dpcd.LANE_COUNT_SET))
    power, display = registers.get(Dpcd.SET_POWER), registers.get(Dpcd.EDP_DISPLAY_CONTROL)
    psr, sync = registers.get(Dpcd.PSR_STATUS), registers.get(Dpcd.SINK_STATUS)
    edp = registers.get(Dpcd.EDP_DPCD_REV)
    revision = registers.get(Dpcd.DPCD_REV)
    lost = registers.get(Dpcd.PSR_ERROR_STATUS, 0)
    # A screen older than eDP 1.2 has nothing there, which reads as 0 like eDP 1.1 itself.
    told = edp is not None and 0 < edp < len(EDP_REVISIONS)
    return Screen(
        revision=f"{revision >> 4}.{revision & 15}" if revision else None,
        max_lanes=_lanes(registers.get(Dpcd.MAX_LANE_COUNT)),
        max_gbps=_max_gbps(registers),
        lanes=lanes,
        gbps=_gbps(registers),
        troubles=_troubles(registers, lanes),
        in_sync=None if sync is None else bool(sync & 1),
        errors=tuple(_errors(registers, lane) for lane in range(lanes or 0)),
        awake=None if power is None else power & 3 == 1,
        edp=EDP_REVISIONS[edp] if told and edp else None,
        black=bool(display & 2) if told and display is not None else None,
        refreshing=None if psr is None else psr & 7 == 2,
        refresh_errors=tuple(name for bit, name in PSR_ERRORS.items() if lost & bit),
    )


def _lanes(count: int | None) -> int | None:
    """1, 2 or 4; other numbers are none of the standard's."""
    lanes = (count or 0) & 0x0F
    return lanes if lanes in (1, 2, 4) else None


def _gbps(registers: Mapping[int, int]) -> float | None:
    code = registers.get(Dpcd.LINK_BW_SET)
    if code == 0:
        chosen = registers.get(Dpcd.LINK_RATE_SET)
        return _from_table(registers, chosen & 7) if chosen is not None else None
    if code is not None and registers.get(Dpcd.MAIN_LINK_CHANNEL_CODING_SET, 1) & 2:
        return FAST_GBPS.get(code)
    return round(code * GBPS_A_STEP, 2) if code is not None else None


def _max_gbps(registers: Mapping[int, int]) -> float | None:
    code = registers.get(Dpcd.MAX_LINK_RATE)
    if code:
        return round(code * GBPS_A_STEP, 2)
    rates = [_from_table(registers, number) for number in range(8)]
    return max((rate for rate in rates if rate is not None), default=None)


def _from_table(registers: Mapping[int, int], number: int) -> float | None:
    low = registers.get(Dpcd.SUPPORTED_LINK_RATES + 2 * number)
    high = registers.get(Dpcd.SUPPORTED_LINK_RATES + 2 * number + 1)
    if low is None or high is None or not low | high:
        return None
    return round((high << 8 | low) * GBPS_A_FINE_STEP, 4)


def _troubles(registers: Mapping[int, int], lanes: int | None) -> tuple[str, ...] | None:
    aligned = registers.get(Dpcd.LANE_ALIGN_STATUS_UPDATED)
    if lanes is None or aligned is None:
        return None
    found = []
    for lane in range(lanes):
        pair = registers.get((Dpcd.LANE0_1_STATUS, Dpcd.LANE2_3_STATUS)[lane // 2])
        if pair is None:
            return None
        state = pair >> (4 * (lane % 2))
        found += [f"lane {lane}: {name}" for bit, name in LANE_BITS.items() if not state & bit]
    return (*found, *(() if aligned & 1 else ("the lanes are not aligned",)))


def _errors(registers: Mapping[int, int], lane: int) -> int | None:
    low = registers.get(Dpcd.SYMBOL_ERROR_COUNT_LANE0 + 2 * lane)
    high = registers.get(Dpcd.SYMBOL_ERROR_COUNT_LANE0 + 2 * lane + 1)
    if low is None or high is None or not (high << 8) & COUNT_VALID:
        return None
    return (high << 8 | low) & ~COUNT_VALID
