"""The load itself: what it computes, what it compares, what it says where nothing can be done."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck.graphics.compare import difference
from livecheck.graphics.messages import SOFTWARE, Beat, Begun, Broken, WrongImage
from livecheck.native import _load
from tests.graphics.software import heard, needs_mesa

WORD: Final = 0xFFFFFFFF


def mixed(index: int, rounds: int, seed: int) -> int:
    """One value by Python's own integers, cut to 32 bits (GLSL ES 3.00, 4.1.3)."""
    word = ((index + 1) * 0x9E3779B9 & WORD) ^ seed
    for n in range(rounds):
        word = word * 0x85EBCA6B & WORD
        word = ((word << 13 | word >> 19) & WORD) + (0xD1B54A33 ^ n) & WORD
    return word


@settings(max_examples=30, deadline=None)
@given(blocks=st.integers(0, 3), rounds=st.integers(0, 40), seed=st.integers(0, WORD))
def test_the_processor_computes_what_python_does(blocks: int, rounds: int, seed: int) -> None:
    made = struct.unpack(f"{blocks * 64}I", _load.values(blocks, rounds, seed))
    assert made == tuple(mixed(i, rounds, seed) for i in range(blocks * 64))


@needs_mesa
def test_each_kind_of_work_comes_out_as_the_processor_has_it() -> None:
    begun, *beats = heard(wanted=8)
    assert isinstance(begun, Begun) and begun.software
    assert begun.kinds[0] == "integers" and begun.kinds[-1] == "picture"
    assert all(isinstance(beat, Beat) and beat.wrong is None for beat in beats)
    assert {beat.kind for beat in beats if isinstance(beat, Beat)} == set(begun.kinds)


@needs_mesa
def test_bits_spoilt_within_the_shader_are_found_in_each_kind() -> None:
    """The fault is in the computing itself, at one pixel, half-way."""
    wrong = {b.kind: b.wrong for b in _beats(10) if b.wrong is not None}
    assert wrong["integers"].first == wrong["integers"].last == (4099 % 512, 4099 // 512)
    assert wrong["picture"].first == wrong["picture"].last == (300, 200)
    assert wrong["integers"].words == 1 and "compute" in wrong


def _beats(wanted: int) -> Iterator[Beat]:
    return (m for m in heard(spoilt=4, wanted=wanted) if isinstance(m, Beat))


@needs_mesa
def test_a_node_that_mesa_knows_nothing_of() -> None:
    (said,) = heard("/dev/dri/renderD191")
    assert isinstance(said, Broken) and "renderD191" in said.says and not said.lost


def test_no_mesa_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str, mode: int = 0) -> None:
        raise OSError(f"{name}: cannot open shared object file")

    monkeypatch.setattr("ctypes.CDLL", missing)
    (said,) = heard(SOFTWARE)
    assert isinstance(said, Broken) and "Mesa is missing" in said.says


def test_equal_results_have_no_difference() -> None:
    assert difference("integers", 0.0, 4, b"abcd" * 8, b"abcd" * 8) is None


def test_where_results_differ_and_in_which_bits() -> None:
    expected = bytes(4 * 8 * 4)
    got = bytearray(expected)
    struct.pack_into("I", got, (8 * 1 + 5) * 4, 0x0401)
    struct.pack_into("I", got, (8 * 3 + 2) * 4, 0x0400)
    assert difference("integers", 1.5, 8, expected, bytes(got)) == WrongImage(
        kind="integers", seconds=1.5, words=2, first=(0, 1), last=(1, 3), expected=0, got=0x0401,
        ever=0x0401, always=0x0400,
    )  # fmt: skip
    found = difference("picture", 1.5, 8, expected, bytes(got))
    assert found is not None and (found.first, found.last) == ((2, 1), (5, 3))
