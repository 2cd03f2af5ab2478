"""Speech: what espeak-ng makes, sample for sample, and what comes of it when something is missing.

Outside references: Python's own reader of wave files, espeak-ng's own output into a file, and
libasound's plugin that writes what it is given to play into a file.
"""

from __future__ import annotations

import array
import shutil
import subprocess
import wave
from collections.abc import Sequence
from pathlib import Path

import pytest

from livecheck.guided import alsa
from livecheck.guided.bench import CannotAct
from livecheck.host import CommandResult
from livecheck.inventory.sound import plays
from livecheck.live_host import LiveHost
from livecheck.voice import speech
from livecheck.voice.speech import Loudspeaker, Wave, command, samples, spoken
from livecheck.wording import NBSP
from tests.inventory.fake_host import FakeHost, device

SENTENCE = "Next step: swap with known-good: panel, 5 minutes."
CARDS = (
    device("sound", "card0", "/sys/devices/pci0/sound/card0"),
    device("sound", "pcmC0D3p", "/sys/devices/pci0/sound/card0/pcmC0D3p"),
    device("sound", "card1", "/sys/devices/pci1/sound/card1"),
    device("sound", "pcmC1D0p", "/sys/devices/pci1/sound/card1/pcmC1D0p"),
    device("sound", "card2", "/sys/devices/usb/sound/card2"),
    device("sound", "pcmC2D0c", "/sys/devices/usb/sound/card2/pcmC2D0c"),
)
NAMES = {"/proc/asound/card0/pcm3p/info": "id: HDMI 0\n",
         "/proc/asound/card1/pcm0p/info": "id: ALC295 Analog\n"}  # fmt: skip


class Speaking(FakeHost):
    """A machine where espeak-ng answers as told."""

    def __init__(self, answer: CommandResult) -> None:
        super().__init__(NAMES, CARDS)
        self.answer = answer

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        return self.answer


def _espeak() -> str:
    found = shutil.which(speech.PROGRAM)
    if found is None:
        pytest.skip(f"{speech.PROGRAM} is not here (image-build/packages/test)")
    return found


def _made(sentence: str) -> bytes:
    _espeak()
    made = LiveHost().command(command(sentence), 30)
    assert made.status == 0
    return made.out


def test_samples_are_those_espeak_ng_writes_into_a_file(tmp_path: Path) -> None:
    file = tmp_path / "said.wav"
    words = list(command(SENTENCE))
    words[0] = _espeak()
    words[words.index("--stdout")] = f"-w{file}"
    subprocess.run(words, check=True)
    with wave.open(str(file)) as said:
        assert (said.getnchannels(), said.getsampwidth()) == (1, 2)
        expected = array.array("h", said.readframes(said.getnframes())), said.getframerate()
    assert samples(_made(SENTENCE)) == expected
    assert len(expected[0]) > expected[1], "more than a second"


@pytest.mark.parametrize("hostile", ["-w/tmp/said", "--help", "[[h@l'oU]]", "<speak>", "\x1b[2J"])
def test_no_name_of_a_device_is_taken_for_an_option(hostile: str, tmp_path: Path) -> None:
    assert command(hostile)[-2:] == ("--", hostile)
    heard, rate = samples(_made(spoken(hostile)))
    assert heard and rate


@pytest.mark.parametrize(
    "broken", [b"", b"RIFF", b"x" * 44, b"RIFF" + b"\0" * 40], ids=["none", "cut", "other", "zero"]
)
def test_what_is_no_wave_file_is_said_to_be_none(broken: bytes) -> None:
    with pytest.raises(Wave):
        samples(broken)
    said = Loudspeaker(Speaking(CommandResult(0, broken, b""))).say(SENTENCE, lambda: False)
    assert said is not None and "cannot be played" in said


def test_it_is_played_to_the_last_sample_and_a_key_ends_it(tmp_path: Path) -> None:
    heard, rate = samples(_made(SENTENCE))
    whole, cut = tmp_path / "whole", tmp_path / "cut"
    alsa.Sound(alsa.load(), f"file:'{whole}',raw").play_samples(heard, rate, lambda: False)
    assert array.array("h", whole.read_bytes()) == heard
    presses = iter([False, False, True])
    alsa.Sound(alsa.load(), f"file:'{cut}',raw").play_samples(heard, rate, lambda: next(presses))
    assert 0 < len(cut.read_bytes()) < len(whole.read_bytes()) / 2


def test_the_machines_own_speaker_comes_before_a_screens() -> None:
    assert list(plays(FakeHost(NAMES, CARDS))) == ["card1", "card0"]


def test_what_is_missing_is_a_value(monkeypatch: pytest.MonkeyPatch) -> None:
    """No espeak-ng, no card, a card that refuses: each says why, and nothing raises."""
    assert Loudspeaker(FakeHost()).say(SENTENCE, lambda: False) == "espeak-ng is not installed"
    made = CommandResult(0, _made(SENTENCE), b"")
    silent = Speaking(made)
    silent.devices = ()
    assert Loudspeaker(silent).say(SENTENCE, lambda: False) == "there is no sound card"
    tried = []

    def refuse(card: str) -> None:
        tried.append(card)
        raise CannotAct(f"{card} is busy")

    monkeypatch.setattr(alsa, "opened", refuse)
    assert Loudspeaker(Speaking(made)).say(SENTENCE, lambda: False) == "card0 is busy"
    assert tried == ["card1", "card0"]


@pytest.mark.parametrize(
    ("written", "said"),
    [
        (f"about 5{NBSP}min", "about 5 minutes"),
        (f"1{NBSP}h 15{NBSP}min", "1 hour 15 minutes"),
        (f"21{NBSP}h 1{NBSP}min", "21 hours 1 minute"),
        (f"91{NBSP}°C", "91 degrees Celsius"),
        (f"12{NBSP}345{NBSP}h", "12345 hours"),
        ("runs 1–3", "runs 1 to 3"),
        ("slot A -> nothing", "slot A to nothing"),
        ("██▄ fan ───", "fan"),
        ("CAUTION: hot", "Caution: hot"),
        ("a [[b]] <c> | d_e", "a b c d e"),
    ],
)
def test_what_is_written_is_read_out_as_one_would(written: str, said: str) -> None:
    assert spoken(written) == said
