"""What registers say, against the kernel's header and against recorded ones.

The dumps that are built are laid out with the header's names and bits alone
(``tests/displayport/drm_dp.h``); the recorded ones come from public logs and reports, each
named, with what the program that printed them said of them.
"""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from livecheck.displayport import Screen, decode
from tests.displayport.header import NAMES

RATES = {"1_62": 1.62, "2_7": 2.7, "5_4": 5.4, "8_1": 8.1}
EDP = {"12": "1.2", "13": "1.3", "14": "1.4", "14a": "1.4a", "14b": "1.4b", "15": "1.5"}
LANE = {
    "DP_LANE_CR_DONE": "clock recovery",
    "DP_LANE_CHANNEL_EQ_DONE": "channel equalization",
    "DP_LANE_SYMBOL_LOCKED": "symbol lock",
}


def at(**named: int) -> dict[int, int]:
    """Registers by the header's names."""
    return {NAMES[f"DP_{name}"]: value for name, value in named.items()}


def lanes(count: int, *missing: tuple[int, str]) -> dict[int, int]:
    """Lane status with every bit set but the missing ones."""
    states = [0, 0]
    for lane, (bit, name) in itertools.product(range(count), LANE.items()):
        if (lane, name) not in missing:
            states[lane // 2] |= NAMES[bit] << (4 * (lane % 2))
    return at(LANE0_1_STATUS=states[0], LANE2_3_STATUS=states[1])


@pytest.mark.parametrize("count", [1, 2, 4])
@pytest.mark.parametrize("rate", RATES)
def test_lanes_and_rate_are_those_of_the_header(count: int, rate: str) -> None:
    """Twelve dumps: each number of lanes at each rate, in use and at most."""
    code = NAMES[f"DP_LINK_BW_{rate}"]
    found = decode(
        at(MAX_LINK_RATE=code, MAX_LANE_COUNT=count | 0xC0, LINK_BW_SET=code,
           LANE_COUNT_SET=count | NAMES["DP_LANE_COUNT_ENHANCED_FRAME_EN"])
    )  # fmt: skip
    assert (found.lanes, found.max_lanes) == (count, count)
    assert found.gbps == found.max_gbps == RATES[rate]


@pytest.mark.parametrize(("rate", "gbps"), [("10", 10.0), ("13_5", 13.5), ("20", 20.0)])
def test_the_fast_rates_have_codes_of_their_own(rate: str, gbps: float) -> None:
    coding = NAMES["DP_SET_ANSI_128B132B"]
    code = NAMES[f"DP_LINK_BW_{rate}"]
    assert decode(at(LINK_BW_SET=code, MAIN_LINK_CHANNEL_CODING_SET=coding)).gbps == gbps


def test_a_table_of_rates_is_read_where_the_panel_has_one() -> None:
    """eDP 1.4: 16 bits little-endian in steps of 200 kHz (Linux, drm_dp_helper: ``* 20``)."""
    table = [8100, 10800, 12150, 13500, 16200, 21600, 27000, 0]
    assert len(table) == NAMES["DP_MAX_SUPPORTED_RATES"]
    start = NAMES["DP_SUPPORTED_LINK_RATES"]
    raw = b"".join(rate.to_bytes(2, "little") for rate in table)
    rates = dict(enumerate(raw, start))
    for number, rate in enumerate(table[:-1]):
        chosen = at(LINK_BW_SET=0, LINK_RATE_SET=number & NAMES["DP_LINK_RATE_SET_MASK"])
        found = decode(rates | chosen)
        assert found.gbps == pytest.approx(rate * 200e3 / 1e9)
        assert found.max_gbps == pytest.approx(5.4)


@pytest.mark.parametrize("name", LANE.values())
@pytest.mark.parametrize(("count", "lane"), [(1, 0), (2, 1), (4, 0), (4, 2), (4, 3)])
def test_a_bit_that_a_lane_lost_is_named(count: int, lane: int, name: str) -> None:
    """Fifteen dumps, one bit missing in each."""
    aligned = at(LANE_ALIGN_STATUS_UPDATED=NAMES["DP_INTERLANE_ALIGN_DONE"], LANE_COUNT_SET=count)
    assert decode(aligned | lanes(count)).troubles == ()
    assert decode(aligned | lanes(count, (lane, name))).troubles == (f"lane {lane}: {name}",)


def test_lanes_that_are_not_aligned_are_named() -> None:
    found = decode(at(LANE_COUNT_SET=2, LANE_ALIGN_STATUS_UPDATED=0x80) | lanes(2))
    assert found.troubles == ("the lanes are not aligned",)


@pytest.mark.parametrize(("code", "edp"), EDP.items())
def test_the_panels_own_revision(code: str, edp: str) -> None:
    """Six dumps; a screen outside has 0 there, which eDP 1.1 has too."""
    revision = NAMES[f"DP_EDP_{code}"]
    black = NAMES["DP_EDP_BLACK_VIDEO_ENABLE"]
    found = decode(at(EDP_DPCD_REV=revision, EDP_DISPLAY_CONTROL_REGISTER=black))
    assert (found.edp, found.black) == (edp, True)
    outside = decode(at(EDP_DPCD_REV=NAMES["DP_EDP_11"], EDP_DISPLAY_CONTROL_REGISTER=black))
    assert (outside.edp, outside.black) == (None, None)


@pytest.mark.parametrize(
    ("name", "awake"), [("D0", True), ("D3", False), ("D3_AUX_ON", True)]
)  # fmt: skip
def test_power_states_by_the_headers_mask(name: str, awake: bool) -> None:
    """Two bits count (DP_SET_POWER_MASK), so that 5 reads as a screen that answers."""
    value = NAMES[f"DP_SET_POWER_{name}"]
    assert (value & NAMES["DP_SET_POWER_MASK"] == NAMES["DP_SET_POWER_D0"]) is awake
    assert decode(at(SET_POWER=value)).awake is awake


def test_a_panel_that_refreshes_itself_is_known() -> None:
    for name in ("INACTIVE", "ACTIVE_SRC_SYNCED", "ACTIVE_RFB", "ACTIVE_RESYNC", "INTERNAL_ERROR"):
        state = NAMES[f"DP_PSR_SINK_{name}"] & NAMES["DP_PSR_SINK_STATE_MASK"]
        assert decode(at(PSR_STATUS=state)).refreshing is (name == "ACTIVE_RFB")
    lost = NAMES["DP_PSR_LINK_CRC_ERROR"] | NAMES["DP_PSR_VSC_SDP_UNCORRECTABLE_ERROR"]
    assert decode(at(PSR_ERROR_STATUS=lost)).refresh_errors == ("link CRC", "data packet")


def test_symbol_errors_count_only_where_the_screen_says_they_do() -> None:
    """0x210, two bytes a lane, the highest bit for valid: VESA DisplayPort 1.1a, from memory."""
    counts = dict(enumerate(bytes([0x2C, 0x81, 0x05, 0x80, 0xFF, 0xFF, 0x07, 0x00]), 0x210))
    assert decode(at(LANE_COUNT_SET=4) | counts).errors == (300, 5, 0x7FFF, None)
    assert decode(at(LANE_COUNT_SET=1) | counts).errors == (300,)


RECORDED = [
    # Reports of built-in panels, printed with each register's meaning beside it: GitHub
    # acidanthera/bugtracker issue 420; Qonfused/ASUS-ZenBook-Duo-14-UX481-Hackintosh pull 1.
    ("12 14 c2 c1 00 00 01 c0 02 00 00 00 00 0b 00 00", "1.2", 2, 5.4),
    ("11 0a 82 41 00 00 01 40 02 00 00 00 00 03 00 00", "1.1", 2, 2.7),
    # Lines of the kernel's ("DPCD:") in mails to its lists, of panels, screens and docks.
    ("11 0a 82 41 00 00 01 c0 02 00 00 00 0f 0b 00", "1.1", 2, 2.7),
    ("11 0a 84 01 00 05 00 81 00 00 00 00 00 00 00", "1.1", 4, 2.7),
    ("12 14 e4 01 a1 01 01 81 00 00 04 00 3f 00 01", "1.2", 4, 5.4),
    ("12 14 c4 01 01 00 01 00 02 02 06 00 00 00 00", "1.2", 4, 5.4),
    ("12 14 c4 81 01 1d 01 c4 6a 3f 04 00 00 00 84", "1.2", 4, 5.4),
    ("14 1e c4 81 01 1d 01 c4 6a 3f 04 00 00 00 84", "1.4", 4, 8.1),
]


@pytest.mark.parametrize(("dump", "revision", "count", "gbps"), RECORDED)
def test_recorded_screens_read_as_they_were_reported(
    dump: str, revision: str, count: int, gbps: float
) -> None:
    found = decode(dict(enumerate(bytes.fromhex(dump))))
    assert (found.revision, found.max_lanes, found.max_gbps) == (revision, count, gbps)


def test_a_recorded_link_that_held() -> None:
    """Issue 420 again: "set [2 x HBR2 : status: 7700]", both lanes whole."""
    status = {NAMES["DP_LANE0_1_STATUS"]: 0x77, NAMES["DP_LANE2_3_STATUS"]: 0x00}
    found = decode(at(LANE_COUNT_SET=0x82, LINK_BW_SET=0x14, LANE_ALIGN_STATUS_UPDATED=1) | status)
    assert (found.troubles, found.lanes, found.gbps) == ((), 2, 5.4)


def test_what_was_not_read_is_not_known() -> None:
    assert decode({}) == Screen()


@given(st.dictionaries(st.sampled_from(range(0x2100)), st.integers(0, 255), max_size=60))
def test_no_registers_raise(registers: dict[int, int]) -> None:
    decode(registers)
