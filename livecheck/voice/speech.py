"""Speech: sentences made to sound by espeak-ng, and played by the system's own library.

espeak-ng only makes the samples: played through libasound as the sound check does, they come
out of the card that was found to work, and a key ends them at once.
"""

from __future__ import annotations

import array
import re
import struct
from collections.abc import Callable
from typing import Final, Protocol

from livecheck import languages
from livecheck.guided import alsa
from livecheck.guided.bench import CannotAct
from livecheck.host import Host
from livecheck.inventory.sound import plays
from livecheck.wording import text

PROGRAM: Final = "espeak-ng"
WORDS_A_MINUTE: Final = 150
"""A little below espeak-ng's own 175: it is heard over a fan (assumed)."""
MAKING_SECONDS: Final = 30.0
_HEADER: Final = struct.Struct("<4s4x4s4s4xHHI6xH4s4x")
"""RIFF, WAVE, fmt: the head of a PCM wave file (RFC 2361, and the files espeak-ng writes)."""


class Wave(Exception):
    """What should be a wave file is none."""


class Speech(Protocol):
    """What says sentences."""

    def say(self, sentence: str, stopped: Callable[[], bool]) -> str | None:
        """Say it to its end, or until ``stopped``; why it could not be said, None: it was."""


def command(sentence: str) -> tuple[str, ...]:
    """What makes a sentence sound, as a wave file on standard output.

    espeak-ng calls its voices by the same codes of languages (espeak-ng --voices).
    """
    return (
        PROGRAM,
        "--stdout",
        "-v",
        languages.spoken(),
        "-s",
        str(WORDS_A_MINUTE),
        "--",
        sentence,
    )


def samples(wave: bytes) -> tuple[array.array[int], int]:
    """Samples of a wave file of one channel and 16 bits, and their rate. Raises Wave."""
    if len(wave) < _HEADER.size:
        raise Wave("it is too short")
    riff, kind, form, coding, channels, rate, bits, data = _HEADER.unpack_from(wave)
    if (riff, kind, form, data) != (b"RIFF", b"WAVE", b"fmt ", b"data"):
        raise Wave("its head is not that of a wave file")
    if (coding, channels, bits) != (1, 1, 16) or not rate:
        raise Wave("it is not one channel of 16 bits")
    # To a pipe the length in the head is a guess: what came is what there is.
    body = wave[_HEADER.size :]
    return array.array("h", body[: len(body) // 2 * 2]), rate


class Loudspeaker:
    """This machine's own: the first sound card that takes what is said."""

    def __init__(self, host: Host) -> None:
        self._host = host
        self._cards: list[str] | None = None
        """Those that may work, the best first; None: not looked for yet."""

    def say(self, sentence: str, stopped: Callable[[], bool]) -> str | None:
        made = self._host.command(command(sentence), MAKING_SECONDS)
        if made.status != 0:
            return made.trouble or f"{PROGRAM} ended with status {made.status}"
        try:
            heard, rate = samples(made.out)
        except Wave as error:
            return f"what {PROGRAM} made cannot be played: {error}"
        # A card may come late, as over USB, so what has none is looked for again.
        self._cards = self._cards or list(plays(self._host))
        why = "there is no sound card"
        while self._cards:
            try:
                with alsa.opened(self._cards[0]) as card:
                    card.play_samples(heard, rate, stopped)
            except CannotAct as error:
                why = str(error)
                del self._cards[0]
            else:
                return None
        return why


_SPOKEN: Final = tuple(
    (re.compile(pattern), words)
    for pattern, words in (
        ("[\u00a0\\s]+", " "),
        (r"(?<![\d.,])1 min\b", "1 {minute}"),
        (r"(?<![\d.,])1 h\b", "1 {hour}"),
        (r"(?<=\d) min\b", " {minutes}"),
        (r"(?<=\d) h\b", " {hours}"),
        (r"(?<=\d) s\b", " {seconds}"),
        (r"(?<=\d) °C", " {celsius}"),
        (r"(?<=\d) rpm\b", " {rpm}"),
        (r"(?<=\d) (?=\d{3}\b)", ""),
        (r"(?<=\d)–(?=\d)", " {to} "),
        (r"\s*->\s*", " {to} "),
        (r"\bCAUTION:", "Caution:"),
        # What draws lines, bars and large letters (Unicode blocks 2500 to 259F).
        ("[\u2500-\u259f]+", " "),
        # espeak-ng takes [[...]] for phonemes.
        (r"[\[\]<>|_*#]+", " "),
        (r"&", " {and} "),
        (r" +", " "),
    )
)


class _Units(dict[str, str]):
    """How units are read out in the language that is spoken."""

    def __missing__(self, key: str) -> str:
        return text(f"voice.unit.{key}")


MOST: Final = 4000
"""Characters of one sentence: five minutes; a command's word may hold 128 KiB (execve(2))."""


def spoken(words: str) -> str:
    """Words for a page, as one would read them out."""
    words = words[:MOST]
    for pattern, said in _SPOKEN:
        words = pattern.sub(said.format_map(_Units()), words)
    return words.strip()
