"""The ear of the virtual laptop, against sounds whose place is known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from livecheck.lamp_codes import Signal, steps
from tests.virtual_laptop import by_ear, hearing

RATE = 22050
DICE = np.random.default_rng(7)
SENTENCE = DICE.normal(0.0, 3000.0, 2 * RATE)
OTHER = DICE.normal(0.0, 3000.0, 2 * RATE)


@pytest.mark.parametrize("loudness", [1.0, 0.3])
def test_a_sentence_is_found_where_it_is_however_loud(loudness: float) -> None:
    heard = np.concatenate((OTHER[:5000], SENTENCE * loudness, OTHER[5000:]))
    first = hearing.pieces(SENTENCE, RATE)[0]
    alike, at = hearing.found(first, heard)
    assert alike == pytest.approx(1.0, abs=1e-6)
    assert at == 5000
    assert min(hearing.likeness(SENTENCE, heard, RATE)) > 0.999


def test_a_gap_spoils_one_piece_and_another_sentence_is_not_taken_for_it() -> None:
    gap = np.concatenate((SENTENCE[:15000], np.zeros(3000), SENTENCE[15000:]))
    alike = hearing.likeness(SENTENCE, gap, RATE)
    assert sorted(one > hearing.ALIKE for one in alike) == [False, True, True, True]
    assert max(hearing.likeness(SENTENCE, OTHER, RATE)) < 0.5
    assert hearing.likeness(SENTENCE, np.zeros(RATE * 3), RATE) == [0.0] * 4


def test_pauses_are_not_compared() -> None:
    assert hearing.pieces(np.zeros(RATE * 2), RATE) == []


def test_a_recording_that_goes_on_is_read_by_its_left_channel(tmp_path: Path) -> None:
    file = tmp_path / "said.wav"
    assert len(hearing.recording(file, RATE)) == 0
    frames = np.column_stack((np.arange(9), -np.arange(9))).astype("<i2").tobytes()
    head = bytearray(44)
    head[24:28] = RATE.to_bytes(4, "little")
    file.write_bytes(bytes(head) + frames + b"\1")
    assert hearing.recording(file, RATE).tolist() == list(range(9))
    with pytest.raises(ValueError, match="44100"):
        hearing.recording(file, 44100)


def test_codes_are_read_from_the_emulators_trace() -> None:
    """Three lamps are set one after another; a rest of two seconds parts two codes."""
    at, lines = 100.0, []
    for lit, seconds in (*steps(Signal.ASKS), *steps(Signal.DEVICE)):
        for n, state in enumerate((4, 6, 7) if lit else (3, 1, 0)):
            lines.append(f"42@{at + n / 1000:.6f}:ps2_set_ledstate 0x55 ledstate {state}")
        at += seconds
    lines += [f"42@{at:.6f}:ps2_set_ledstate 0x55 ledstate 0"]
    assert by_ear.lamp_codes("\n".join(lines).encode()) == ["ss", "ls"]
