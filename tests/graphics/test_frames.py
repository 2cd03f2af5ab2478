"""Frames by their checksums: a disturbed one is told from a right one and from a new picture.

No recording of a real pipe was to be had: values are built in the form in which the kernel
prints them (Linux, drivers/gpu/drm/drm_debugfs_crc.c, ``crtc_crc_read``: ``0x%08x`` or ten X for
the frame, then `` 0x%08x`` for each value).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from livecheck.graphics.frames import disturbed, parsed

STILL, NEXT, HARMED, OTHER = 0x8D2D8D50, 0x51C0FFEE, 0x0BADF00D, 0x0BADF11D


def printed(*runs: tuple[int, int], numbered: bool = True) -> bytes:
    """Lines as the kernel prints them: so many frames of each value."""
    values = [value for value, count in runs for _ in range(count)]
    return b"".join(
        b"%s 0x%08x 0x%08x\n" % (b"0x%08x" % n if numbered else b"XXXXXXXXXX", value, value ^ 0xFF)
        for n, value in enumerate(values, start=0xFFFF_FF00)
    )


@pytest.mark.parametrize("numbered", [True, False])
def test_each_line_is_a_frame(numbered: bool) -> None:
    frames = parsed(printed((STILL, 3), numbered=numbered))
    assert frames == ((STILL, STILL ^ 0xFF),) * 3


@pytest.mark.parametrize(
    ("name", "runs", "count"),
    [
        ("a still picture", [(STILL, 240)], 0),
        ("the console draws once a second", [(v, 60) for v in range(4)], 0),
        ("a cursor blinks, 200 ms on and off (vt.c)", [(STILL, 12), (NEXT, 12)] * 10, 0),
        ("a drawing caught half-way, once", [(STILL, 60), (HARMED, 1), (NEXT, 60)], 0),
        ("one frame is harmed", [(STILL, 60), (HARMED, 1), (STILL, 60)], 1),
        ("harmed twice, each time another way",
         [(STILL, 30), (HARMED, 2), (STILL, 30), (OTHER, 1), (STILL, 30)], 3),
        ("harmed while new pictures come",
         [(STILL, 30), (HARMED, 1), (STILL, 30), (NEXT, 30), (OTHER, 1), (NEXT, 30)], 2),
        ("every other frame is harmed", [(STILL, 1), (HARMED, 1)] * 60 + [(STILL, 1)], 60),
        ("two harmed ways in turn", [(STILL, 1), (HARMED, 1), (STILL, 1), (OTHER, 1)] * 30, 59),
        ("it moves all the time", [(v, 4) for v in range(60)], 0),
        ("nothing came", [], 0),
    ],
)  # fmt: skip
def test_disturbed_frames(name: str, runs: list[tuple[int, int]], count: int) -> None:
    assert disturbed(parsed(printed(*runs))) == count, name


@given(st.binary(max_size=400))
def test_noise_is_no_frame_and_no_trap(noise: bytes) -> None:
    assert all(1 <= len(frame) <= 10 for frame in parsed(noise))


def test_a_line_cut_off_is_left_out() -> None:
    assert len(parsed(printed((STILL, 3))[:-9])) == 2
