"""Whether a sentence is in a recording: by correlation with what espeak-ng makes of it."""

from __future__ import annotations

import subprocess
import wave
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from livecheck.voice.speech import command, samples

PIECE_SECONDS: Final = 0.5
ALIKE: Final = 0.9
"""Normalised correlation of a piece that is there; 1: the same but for its loudness."""
LOUD: Final = 100.0
"""Root mean square of 16-bit samples below which a piece is a pause, and says nothing."""
Sound = NDArray[np.float64]


class Speaker:
    """The espeak-ng of an image's system: another release's makes other samples."""

    def __init__(self, root: Path) -> None:
        self._root = root

    def says(self, sentence: str) -> tuple[Sound, int]:
        """A sentence as samples, and their rate."""
        words = ["chroot", str(self._root), *command(sentence)]
        made = subprocess.run(words, capture_output=True, check=True)
        heard, rate = samples(made.stdout)
        return np.asarray(heard, dtype=np.float64), rate


def recording(file: Path, rate: int) -> Sound:
    """The left channel of what QEMU's wav backend wrote so far: its head is only right at the end.

    Two channels of 16 bits (the backend's defaults); ``rate`` is what it was told to write.
    """
    data = file.read_bytes() if file.exists() else b""
    head = 44
    if len(data) > head and int.from_bytes(data[24:28], "little") != rate:
        raise ValueError(f"{file} is not recorded at {rate} Hz")
    body = data[head : len(data) - (len(data) - head) % 4]
    return np.frombuffer(body, dtype="<i2")[::2].astype(np.float64)


def found(piece: Sound, heard: Sound) -> tuple[float, int]:
    """The best normalised correlation of a piece with any place of a recording, and that place."""
    if len(heard) < len(piece):
        return 0.0, 0
    size = 1 << (len(heard) + len(piece)).bit_length()
    spectrum = np.fft.rfft(heard, size) * np.conj(np.fft.rfft(piece, size))
    products = np.fft.irfft(spectrum, size)[: len(heard) - len(piece) + 1]
    squares = np.concatenate(([0.0], np.cumsum(heard**2)))
    energy = np.sqrt(np.maximum(squares[len(piece) :] - squares[: -len(piece)], 0.0))
    enough = np.where(energy > LOUD * np.sqrt(len(piece)) / 10, energy, np.inf)
    alike = products / (enough * np.sqrt(np.sum(piece**2)))
    at = int(np.argmax(alike))
    return float(alike[at]), at


def pieces(said: Sound, rate: int) -> list[Sound]:
    """A sentence cut into pieces that sound: a gap of a busy machine spoils one of them alone."""
    length = int(PIECE_SECONDS * rate)
    cut = [said[at : at + length] for at in range(0, len(said) - length + 1, length)]
    return [one for one in cut if np.sqrt(np.mean(one**2)) > LOUD]


def likeness(said: Sound, heard: Sound, rate: int) -> list[float]:
    """How alike each piece of a sentence is to the place that fits it best."""
    return [found(piece, heard)[0] for piece in pieces(said, rate)]


def seconds(file: Path) -> float:
    """Length of a finished recording."""
    with wave.open(str(file)) as told:
        return float(told.getnframes() / told.getframerate())
