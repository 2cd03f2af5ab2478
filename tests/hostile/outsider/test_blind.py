"""Speech, lamps and three keys when something of it fails or keys come as nobody means them.

Sources: console_codes(4); Linux drivers/input/input.c (a key that is held repeats after
250 ms, every 33 ms); termios(3) and read(2) for what comes in one read; RFC 2361 for wave files.
"""

from __future__ import annotations

import asyncio
import errno
import os
import struct
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from livecheck.guided import alsa
from livecheck.guided.bench import CannotAct
from livecheck.host import CommandResult
from livecheck.lamp_codes import Signal
from livecheck.voice import lamps
from livecheck.voice.presses import KeyTerminal
from livecheck.voice.speech import Loudspeaker
from livecheck.voice.talk import Asked, Talk
from tests.console.blind.support import Recorder, Shown
from tests.inventory.fake_host import FakeHost, device

CARD = (device("sound", "card0", "/sys/devices/pci0/sound/card0"),
        device("sound", "pcmC0D0p", "/sys/devices/pci0/sound/card0/pcmC0D0p"))  # fmt: skip
INFO = {"/proc/asound/card0/pcm0p/info": "id: ALC295 Analog\n"}
WAVE = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36, b"WAVE", b"fmt ", 16, 1, 1, 22050, 44100, 2,
                   16, b"data", 0)  # fmt: skip
ANSWERS = {
    "not there": CommandResult(None, b"", b"", "espeak-ng is not installed"),
    "ends with 1": CommandResult(1, b"", b"trouble"),
    "killed": CommandResult(None, b"", b"", "espeak-ng was killed at its deadline of 30 s"),
    "nothing": CommandResult(0, b"", b""),
    "noise": CommandResult(0, bytes(range(256)) * 99, b""),
    "half a head": CommandResult(0, WAVE[:20], b""),
    "no sound behind the head": CommandResult(0, WAVE, b""),
    "an odd number of bytes": CommandResult(0, WAVE + b"\x01" * 7, b""),
    "a rate of 0": CommandResult(0, WAVE[:24] + bytes(4) + WAVE[28:] + bytes(99), b""),
    "a rate of 2^32-1": CommandResult(0, WAVE[:24] + b"\xff" * 4 + WAVE[28:] + bytes(99), b""),
}


class Speaks(FakeHost):
    def __init__(self, answer: CommandResult) -> None:
        super().__init__(INFO, CARD)
        self._answer = answer

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        return self._answer


class Card:
    """A sound card that vanishes in the middle of what it plays, and may come again."""

    gone = True

    def __enter__(self) -> Card:
        return self

    def __exit__(self, *_: object) -> None:
        return None

    def play_samples(self, heard: object, rate: int, stopped: Callable[[], bool]) -> None:
        if Card.gone:
            raise CannotAct("sound device plughw:0: No such device")


@pytest.mark.parametrize("what", ANSWERS)
def test_what_makes_the_sound_fails(what: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """B01: why is said in words, and nothing is raised."""
    monkeypatch.setattr(alsa, "opened", lambda card: Card())
    monkeypatch.setattr(Card, "gone", False)
    why = Loudspeaker(Speaks(ANSWERS[what])).say("words", lambda: False)
    assert why is None or len(why) > 5
    silent = ("no sound behind the head", "an odd number of bytes", "a rate of 2^32-1")
    assert (why is None) == (what in silent)


def test_a_sound_card_vanishes_and_comes_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """B02: what could not be said is shown, and the next sentence tries anew."""
    monkeypatch.setattr(alsa, "opened", lambda card: Card())
    monkeypatch.setattr(Card, "gone", True)
    speaker = Loudspeaker(Speaks(CommandResult(0, WAVE + bytes(99), b"")))
    assert "No such device" in (speaker.say("words", lambda: False) or "")
    monkeypatch.setattr(Card, "gone", False)
    assert speaker.say("words", lambda: False) is None


@pytest.mark.parametrize("number", [errno.EIO, errno.ENODEV, errno.EROFS, errno.EACCES])
def test_lamps_that_cannot_be_written(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """B03: they stay dark, the flow goes on and ends."""

    def refuse(path: str, *_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number))

    host = FakeHost({f"{lamps.LEDS}/input3::capslock/brightness": number,
                     f"{lamps.LEDS}/input3::numlock/trigger": "[" * 9999,
                     f"{lamps.LEDS}/::scrolllock/brightness": "x"})  # fmt: skip
    monkeypatch.setattr("builtins.open", refuse)
    with lamps.Lamps(host) as told:
        for signal in Signal:
            told.show(signal, beeps=True)


def test_lamps_lead_to_no_other_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """B03: a lamp that is gone by now and another file in its place keeps its content."""
    (tmp_path / "input3::capslock").mkdir()
    monkeypatch.setattr(lamps, "LEDS", str(tmp_path))
    with lamps.Lamps(FakeHost({f"{tmp_path}/input3::capslock/trigger": "none"})) as told:
        told.show(Signal.ASKS, beeps=False)
    with lamps.Lamps(FakeHost({})) as told:
        told.show(Signal.ASKS, beeps=False)


class Speech(Recorder):
    """Says nothing aloud, and does something while it is saying."""

    def __init__(self, meanwhile: Callable[[str], None]) -> None:
        super().__init__()
        self._meanwhile = meanwhile

    def say(self, sentence: str, stopped: Callable[[], bool]) -> str | None:
        self._meanwhile(sentence)
        return super().say(sentence, stopped)


QUESTIONS = ("Was it done?", "Anything else?", "Switch off now?")


def _asked(
    pressed: Callable[[int, str], None], reading: int, before: bytes = b"", writing: int = -1
) -> tuple[list[bool | None], list[str]]:  # fmt: skip
    """Three questions; what came of them, and what was said aloud."""
    speech = Speech(lambda sentence: pressed(writing, sentence))

    async def play() -> list[bool | None]:
        async with KeyTerminal(reading) as keys:
            talk = Talk(speech, keys, Shown(), lambda words: None)
            if before:
                os.write(writing, before)
                await asyncio.sleep(0.1)
            found = []
            for says in QUESTIONS:
                asked = Asked(says=says, otherwise=None, seconds=0.5, times=1)
                found.append(await talk.ask(asked))
            return found

    return asyncio.run(play()), speech.said


@pytest.mark.parametrize("key", [b"\r", b"\x1b", b"\n"])
@pytest.mark.parametrize("times", [2, 3, 40])
def test_a_key_pressed_twice_answers_once(key: bytes, times: int) -> None:
    """B04: a hand that trembles, or a key that is held, says yes once."""
    reading, writing = os.pipe()

    def pressed(to: int, sentence: str) -> None:
        if sentence == QUESTIONS[0]:
            os.write(to, key * times)

    found, said = _asked(pressed, reading, writing=writing)
    assert found == [key != b"\x1b", None, None]
    assert all(question in said for question in QUESTIONS)


def test_a_key_that_is_held_answers_once() -> None:
    """B04: repeated every 33 ms after 250, over the next two questions."""
    reading, writing = os.pipe()

    async def hold() -> None:
        await asyncio.sleep(0.2)
        os.write(writing, b"\r")
        await asyncio.sleep(0.25)
        for _ in range(40):
            os.write(writing, b"\r")
            await asyncio.sleep(0.033)

    async def play() -> list[bool | None]:
        async with KeyTerminal(reading) as keys:
            talk = Talk(Recorder(), keys, Shown(), lambda words: None)
            held = asyncio.create_task(hold())
            found = []
            for says in QUESTIONS:
                asked = Asked(says=says, otherwise=None, seconds=0.6, times=1)
                found.append(await talk.ask(asked))
            await held
            return found

    assert asyncio.run(play()) == [True, None, None]


@pytest.mark.parametrize("keys", [b"\r", b"\r\x1b ", b"\x1b", b"\r\r\r", b"   "])
def test_keys_before_the_first_question_are_no_answer(keys: bytes) -> None:
    """B05: and the question is said."""
    reading, writing = os.pipe()
    found, said = _asked(lambda to, sentence: None, reading, keys, writing)
    assert found == [None, None, None]
    assert all(question in said for question in QUESTIONS)


@pytest.mark.parametrize("parts", [(b"\x1b", b"[A"), (b"\x1b", b"[[A"), (b"\x1b", b"OP"),
                                   (b"\x1b", b"[1", b"5~")])  # fmt: skip
def test_an_arrow_that_comes_in_two_reads_is_no_escape(parts: tuple[bytes, ...]) -> None:
    """B05: a serial line at 300 baud has 33 ms between two characters."""
    reading, writing = os.pipe()

    async def play() -> list[str | None]:
        async with KeyTerminal(reading) as keys:
            got: list[str | None] = []
            for part in parts:
                os.write(writing, part)
                await asyncio.sleep(0.02)
            while (one := await keys.next(0.3)) is not None:
                got.append(one.value)
            return got

    got = asyncio.run(play())
    assert "no" not in got and "yes" not in got


@pytest.mark.parametrize("number", [0, 1, 2])
def test_the_terminal_hangs_up_in_a_question(number: int) -> None:
    """B06: nothing is answered from then on."""
    reading, writing = os.pipe()
    open_yet = [True]

    def hang_up(to: int, sentence: str) -> None:
        if sentence == QUESTIONS[number] and open_yet[0]:
            open_yet[0] = False
            os.close(to)

    found, _ = _asked(hang_up, reading, writing=writing)
    assert found == [None, None, None]
