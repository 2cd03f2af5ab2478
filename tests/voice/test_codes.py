"""Codes of lamps and speaker, against the code they borrow their lengths from."""

from __future__ import annotations

import struct
import threading

import pytest

from livecheck import lamp_codes as codes
from livecheck.lamp_codes import PATTERNS, Signal, of_side, steps
from livecheck.records import Side
from livecheck.voice import lamps
from tests.inventory.fake_host import FakeHost

KEYBOARD = "/sys/class/leds/input3::"
SPEAKER = "/dev/input/event7"
HOST = FakeHost(
    {
        f"{KEYBOARD}capslock/brightness": "0\n",
        f"{KEYBOARD}capslock/trigger": "none usb-host kbd-numlock [kbd-capslock] mmc0\n",
        f"{KEYBOARD}numlock/brightness": "1\n",
        f"{KEYBOARD}numlock/trigger": "[none] kbd-numlock\n",
        f"{KEYBOARD}kana/brightness": "0\n",
        "/sys/class/leds/phy0-led/brightness": "1\n",
        "/sys/class/input/event3/device/name": "AT Translated Set 2 keyboard\n",
        "/sys/class/input/event7/device/name": "PC Speaker\n",
    }
)


@pytest.mark.parametrize("signal", Signal)
def test_lengths_are_those_of_the_morse_code(signal: Signal) -> None:
    """ITU-R M.1677-1, part I, 2: a dash is three dots, the space within a letter one."""
    dot = codes.SHORT_SECONDS
    told = steps(signal)
    lit = [seconds for on, seconds in told if on]
    assert "".join({dot: "s", 3 * dot: "l"}[seconds] for seconds in lit) == PATTERNS[signal]
    assert [on for on, _ in told] == [True, False] * len(lit)
    assert all(seconds == dot for on, seconds in told[:-1] if not on)
    # Longer than the seven dots between words: it is plain where a code begins.
    assert told[-1][1] > 7 * dot


def test_every_code_and_every_side_has_one_of_its_own() -> None:
    assert len(set(PATTERNS.values())) == len(PATTERNS) == len(Signal)
    verdicts = {of_side(side) for side in Side}
    assert len(verdicts) == len(Side)
    assert all((PATTERNS[s][0] == "l") is (s in verdicts) for s in Signal)


def test_lamps_and_speaker_are_found_and_nothing_else() -> None:
    assert lamps.lamps_of(HOST) == (f"{KEYBOARD}capslock", f"{KEYBOARD}numlock")
    assert lamps.speaker_of(HOST) == SPEAKER
    assert lamps.speaker_of(FakeHost()) is None


def test_a_tone_is_an_input_event_of_the_kernel() -> None:
    """include/uapi/linux/input.h and input-event-codes.h: EV_SND 0x12, SND_TONE 0x02."""
    assert lamps.tone(1000) == struct.pack("@qqHHi", 0, 0, 0x12, 0x02, 1000)


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, bytes]]:
    """What goes to device nodes and attributes, in order."""
    told: list[tuple[str, bytes]] = []
    monkeypatch.setattr(lamps, "_write", lambda path, data: told.append((path, data)))
    return told


@pytest.mark.parametrize("beeps", [True, False])
def test_a_code_is_blinked_and_beeped_and_the_lamps_are_put_back(
    written: list[tuple[str, bytes]], monkeypatch: pytest.MonkeyPatch, beeps: bool
) -> None:
    done = threading.Event()
    rest = ((True, 0.001), (False, 0.001), (True, 0.003), (False, 60.0))

    def short(signal: Signal) -> tuple[tuple[bool, float], ...]:
        done.set()
        return rest

    monkeypatch.setattr(lamps, "steps", short)
    with lamps.Lamps(HOST) as shown:
        shown.show(Signal.ASKS, beeps=beeps)
        assert done.wait(5)
        while len([1 for path, _ in written if "caps" in path]) < len(rest):
            pass
    caps = [data for path, data in written if path == f"{KEYBOARD}capslock/brightness"]
    nums = [data for path, data in written if path == f"{KEYBOARD}numlock/brightness"]
    assert caps == [b"1", b"0", b"1", b"0", b"0"]
    assert nums == [b"1", b"0", b"1", b"0", b"1"], "the last one is what it was before"
    # Documentation/ABI/testing/sysfs-class-led: writing 0 to the brightness clears the trigger.
    triggers = [(path, data) for path, data in written if path.endswith("/trigger")]
    assert triggers == [(f"{KEYBOARD}capslock/trigger", b"kbd-capslock")]
    assert written.index(triggers[0]) > written.index((f"{KEYBOARD}capslock/brightness", b"0"))
    tones = [data for path, data in written if path == SPEAKER]
    begun = [lamps.tone(1000), lamps.tone(0)] * 2 if beeps else []
    assert tones == [*begun, lamps.tone(0)]


def test_what_is_missing_stays_dark_and_is_no_trouble() -> None:
    with lamps.Lamps(FakeHost()) as shown:
        shown.show(Signal.TROUBLE, beeps=True)
    # Files that the host names and that are gone, as of a keyboard pulled.
    with lamps.Lamps(HOST) as shown:
        shown.show(Signal.TROUBLE, beeps=True)
