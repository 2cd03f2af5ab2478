"""Checks that are seen, heard, plugged or moved, without hardware."""

from __future__ import annotations

import math
import random

import msgspec
import numpy as np
import pytest

from livecheck.guided import (
    Answered,
    Event,
    GuideStep,
    ScreenPattern,
    Skip,
    offered,
    open_guide,
)
from livecheck.guided.camera import figures
from livecheck.guided.events import Acted, Frames, Heard
from livecheck.guided.sights import (
    CardSeen,
    ClockSeen,
    LidSeen,
    LinkSeen,
    SensorSeen,
    UsbSeen,
    UsbSight,
)
from livecheck.guided.sound import clipped, level_at, rms, tone
from livecheck.records import Outcome
from tests.guided.support import LAPTOP, TABLE, TABLES, open_check, walk


def outcome(step: GuideStep) -> Outcome:
    assert step.done
    return step.readings[0].outcome


# --- Display


@pytest.mark.parametrize(("answer", "wanted"), [("even", "passed"), ("dots", "failed")])
def test_display(answer: str, wanted: str) -> None:
    """Every pattern is shown once, then one question."""
    guide = open_check("display")
    step, shown = guide.start(), []
    while (step := guide.feed(Answered(value="done"))).picture is not None:
        shown.append(step.picture)
    assert len(shown) == len(set(map(repr, shown))) == 8
    colours = {p.colour for p in shown if isinstance(p, ScreenPattern) and p.kind == "field"}
    assert colours == {"black", "white", "red", "green", "blue"}
    step = guide.feed(Answered(value=answer))
    assert outcome(step) == wanted
    assert "maker: LNX" in step.readings[0].details


def test_brightness_comes_back() -> None:
    """Also when the check is left out half-way, and when a step is refused."""
    for upset in (None, Skip(), Acted(number=2, why_not="refused")):
        guide = open_check("backlight")
        step, levels = guide.feed(Answered(value="done")), []
        while step.act is not None and not step.act.restore:
            levels.append(step.act.level)
            wrong = upset is not None and len(levels) == 2
            step = guide.feed(upset if wrong and upset else Acted(number=step.act.number))
        assert min(levels) > 0
        assert step.act is not None and step.act.restore
        step = guide.feed(Acted(number=step.act.number))
        if upset is None:
            assert outcome(guide.feed(Answered(value="no"))) is Outcome.FAILED
        elif isinstance(upset, Skip):
            assert step.not_tested and not step.readings
        else:
            assert outcome(step) is Outcome.NOT_JUDGED


# --- USB ports and cards


def sight(place: str, speed: float = 480.0) -> UsbSight:
    return UsbSight(name=place[4:], place=place, speed=speed, usb_id="1d6b:0104", serial="S1")


def visit(place: str, at: float, speed: float = 480.0) -> list[UsbSeen]:
    """A thing plugged into a port, left there for five seconds and pulled."""
    here = (sight(place, speed),)
    return [UsbSeen(seconds=at, devices=here), UsbSeen(seconds=at + 5, devices=here),
            UsbSeen(seconds=at + 6)]  # fmt: skip


def test_both_ports_work() -> None:
    guide = open_check("usb-ports")
    walk(guide, [UsbSeen(seconds=0), *visit("usb:1-1", 1), *visit("usb:1-2", 10)])
    step = guide.feed(Answered(value="done"))
    assert [r.outcome for r in step.readings] == [Outcome.PASSED] * 2
    assert [r.at for r in step.readings] == ["usb:1-1", "usb:1-2"]


def test_a_dead_port_is_named_when_it_is_the_only_one_left() -> None:
    guide = open_check("usb-ports")
    walk(guide, [UsbSeen(seconds=0), *visit("usb:1-1", 1)])
    assert guide.feed(Answered(value="done")).question
    step = guide.feed(Answered(value="yes"))
    assert [(r.at, r.outcome.value) for r in step.readings] == [
        ("usb:1-1", "passed"), ("usb:1-2", "failed")
    ]  # fmt: skip


def test_a_port_nobody_tried_is_not_tested() -> None:
    guide = open_check("usb-ports")
    walk(guide, [UsbSeen(seconds=0), *visit("usb:1-1", 1)])
    guide.feed(Answered(value="done"))
    step = guide.feed(Answered(value="no"))
    assert [n.at for n in step.not_tested] == ["usb:1-2"] and len(step.readings) == 1


def test_over_current_and_errors_of_a_port() -> None:
    """over_current_count (sysfs-bus-usb) is counted from the start of the check."""
    bad = ("usb:1-2", "device descriptor read/64, error -71")
    guide = open_check("usb-ports")
    walk(guide, [UsbSeen(seconds=0, over_current={"usb:1-1": 4}),
                 UsbSeen(seconds=1, devices=(sight("usb:1-1"),), over_current={"usb:1-1": 5}),
                 UsbSeen(seconds=9, over_current={"usb:1-1": 5}, messages=(bad,))])  # fmt: skip
    guide.feed(Answered(value="done"))
    step = guide.feed(Answered(value="yes"))
    said = {r.at: r.says for r in step.readings}
    assert "too much current 1 times" in said["usb:1-1"] and "error -71" in said["usb:1-2"]
    assert all(r.outcome is Outcome.FAILED for r in step.readings)


def test_what_comes_and_goes_is_a_loose_socket() -> None:
    guide = open_check("usb-ports")
    coming = [e for n in range(4) for e in visit("usb:1-1", 1 + 8 * n)]
    walk(guide, [UsbSeen(seconds=0), *coming, *visit("usb:1-2", 50)])
    step = guide.feed(Answered(value="done"))
    assert [r.outcome.value for r in step.readings] == ["failed", "passed"]


LEFT, RIGHT = "left USB port, front", "right USB port, front"


def _titles(step: GuideStep) -> list[str]:
    return [choice.value for choice in step.choices]


def test_the_technician_tells_which_socket_it_is() -> None:
    """While the thing is in it; a name is given once; the reading says it."""
    guide = open_check("usb-ports")
    step = walk(guide, [UsbSeen(seconds=0)])
    assert LEFT not in _titles(step)
    step = walk(guide, visit("usb:1-1", 1)[:2])
    assert LEFT in _titles(step)
    step = guide.feed(Answered(value=LEFT))
    assert LEFT not in _titles(step) and any(line.startswith(LEFT) for line in step.lines)
    step = walk(guide, [UsbSeen(seconds=7), *visit("usb:1-2", 10)[:2]])
    assert LEFT not in _titles(step) and RIGHT in _titles(step)
    walk(guide, [Answered(value=RIGHT), UsbSeen(seconds=20)])
    step = guide.feed(Answered(value="done"))
    assert step.called == {"usb:1-1": LEFT, "usb:1-2": RIGHT}
    assert [r.says.partition(":")[0] for r in step.readings] == [LEFT, RIGHT]


def test_a_socket_that_has_its_name_is_not_asked_for_it() -> None:
    named = offered(LAPTOP, TABLE, {"usb:1-1"})
    guide = open_guide(next(o for o in named if o.row.name == "usb-ports"), TABLES, TABLE)
    step = walk(guide, [UsbSeen(seconds=0), *visit("usb:1-1", 1)[:2]])
    assert _titles(step) == ["done"]


def test_card() -> None:
    """A card that was in from the start does not count; a new one with a size does."""
    old = ("mmc:mmc0", "OLD", "100")
    guide = open_check("card-slot")
    step = walk(guide, [CardSeen(seconds=0, cards=(old,)), CardSeen(seconds=1)])
    assert not step.done
    step = guide.feed(CardSeen(seconds=2, cards=(("mmc:mmc0", "SD8", "8000"),)))
    assert outcome(step) is Outcome.PASSED
    assert outcome(walk(open_check("card-slot"), [Answered(value="no")])) is Outcome.FAILED


# --- One thing that changes


def test_lid() -> None:
    seen = [LidSeen(seconds=n, open=o) for n, o in enumerate((True, False, True))]
    assert outcome(walk(open_check("lid"), seen)) is Outcome.PASSED
    assert not walk(open_check("lid"), seen[:2]).done
    assert outcome(walk(open_check("lid"), [seen[0], Answered(value="no")])) is Outcome.FAILED


@pytest.mark.parametrize(("errors", "wanted"), [(0, Outcome.PASSED), (3, Outcome.FAILED)])
def test_cable(errors: int, wanted: Outcome) -> None:
    up = LinkSeen(seconds=1, carrier=True, speed=1000, duplex="full", errors=7)
    later = msgspec.structs.replace(up, seconds=7, errors=7 + errors)
    seen = [LinkSeen(seconds=0, carrier=False), up, later]
    assert outcome(walk(open_check("wired"), seen)) is wanted


def test_sensor() -> None:
    """Gravity turns from one axis to another, in m/s²; noise alone is no movement."""
    still = [SensorSeen(seconds=n, values={"accel_z": 9.80 + 0.01 * (n % 2)}) for n in range(9)]
    assert not walk(open_check("sensors"), still).done
    turned = SensorSeen(seconds=9, values={"accel_z": 0.4})
    assert outcome(walk(open_check("sensors"), [*still, turned])) is Outcome.PASSED


def test_clock() -> None:
    """A clock that stands still fails by itself; one that runs is asked about."""
    still = [ClockSeen(seconds=s, epoch=1_000_000) for s in (0.0, 10.0)]
    assert outcome(walk(open_check("clock"), still)) is Outcome.FAILED
    runs = [ClockSeen(seconds=s, epoch=1_000_000 + int(s)) for s in (0.0, 10.0)]
    step = walk(open_check("clock"), runs)
    assert "1970-01-12 13:46" in step.lines[0].replace("\u00a0", " ")
    assert outcome(walk(open_check("clock"), [*runs, Answered(value="yes")])) is Outcome.PASSED


# --- Sound


def test_levels_agree_with_an_independent_transform() -> None:
    """Source: numpy's FFT over the same samples."""
    rate, dice = 48000, random.Random(7)
    for hertz in (440.0, 1000.0, 3000.0):
        samples = [
            round(8000 * math.sin(2 * math.pi * hertz * n / rate) + dice.gauss(0, 300))
            for n in range(rate)
        ]
        bins = 2 * np.abs(np.fft.rfft(np.array(samples) / 32768)) / len(samples)
        assert level_at(samples, hertz, rate) == pytest.approx(
            20 * math.log10(bins[int(hertz)]), abs=0.01
        )
        square = np.sqrt(np.mean((np.array(samples) / 32768 - np.mean(samples) / 32768) ** 2))
        assert rms(samples) == pytest.approx(20 * math.log10(square), abs=1e-6)


def test_tone_is_on_its_side_alone() -> None:
    samples = tone(1000.0, 0.5, 0.3, "left", 48000)
    assert not any(samples[1::2])
    # Both ends swell for 20 ms each, so 8 % of the tone has half its amplitude.
    assert level_at(samples[::2], 1000.0, 48000) == pytest.approx(
        20 * math.log10(0.3 * 0.96), abs=0.1
    )
    assert clipped([32767, 0, -32768, 5]) == 0.5


@pytest.mark.parametrize(
    ("quiet", "loud", "everything", "share", "wanted"),
    [
        (-80.0, -40.0, -35.0, 0.0, "passed"),
        (-80.0, -76.0, -60.0, 0.0, "failed"),
        (-120.0, -120.0, -120.0, 0.0, "failed"),
        (-40.0, -1.0, -1.0, 0.4, "failed"),
    ],
)
def test_microphone(
    quiet: float, loud: float, everything: float, share: float, wanted: str
) -> None:
    heard = Heard(number=1, quiet=quiet, tone=loud, rms=everything, clipped=share)
    assert outcome(walk(open_check("sound-input"), [Answered(value="done"), heard])) == wanted


def test_sound_that_cannot_be_played_is_not_judged() -> None:
    refused = Acted(number=1, why_not="the sound library is missing here")
    step = walk(open_check("sound-output"), [Answered(value="done"), refused])
    assert outcome(step) is Outcome.NOT_JUDGED and "library" in str(step.readings[0].why_not)


def test_one_silent_speaker() -> None:
    answers: list[Event] = [Answered(value="done"), Acted(number=1), Answered(value="yes"),
               Acted(number=2), Answered(value="no")]  # fmt: skip
    step = walk(open_check("sound-output"), answers)
    assert outcome(step) is Outcome.FAILED and "right" in step.readings[0].says


# --- Camera


def picture(seed: int, base: int = 110, spread: int = 40, noise: int = 3) -> bytes:
    """A scene with a gradient and a sensor's noise; the scene is the same for each seed."""
    dice = random.Random(seed)
    return bytes(
        max(0, min(255, base + (x % 160) * spread // 80 - spread + dice.randint(-noise, noise)))
        for x in range(160 * 120)
    )


def test_figures_of_frames_agree_with_numpy() -> None:
    planes = [picture(1), picture(2)]
    found = figures(1, planes, 160, 120, 0)
    sampled = [np.frombuffer(p, np.uint8)[::4].astype(float) for p in planes]
    assert found.mean == pytest.approx(sampled[1].mean())
    assert found.deviation == pytest.approx(sampled[1].std())
    assert found.motion == pytest.approx(np.abs(sampled[1] - sampled[0]).mean())
    assert found.dark == pytest.approx((sampled[1] < 4).mean())


@pytest.mark.parametrize(
    ("planes", "wanted"),
    [
        ([picture(1), picture(2)], "passed"),
        ([picture(1), picture(1)], "stands still"),
        ([bytes(19200), bytes(19200)], "ask"),
        ([b"\xff" * 19200] * 2, "ask"),
        ([b"\x80" * 19200] * 2, "ask"),
        ([], "not judged"),
    ],
)
def test_camera(planes: list[bytes], wanted: str) -> None:
    """Live, frozen, black, white, one even grey, and nothing at all."""
    frames: Frames = figures(1, planes, 160, 120, 0)
    guide = open_check("camera")
    step = walk(guide, [Answered(value="done"), frames])
    if wanted == "ask":
        assert step.question and not step.done
        assert outcome(guide.feed(Answered(value="done"))) is Outcome.FAILED
    elif wanted == "stands still":
        assert outcome(step) is Outcome.FAILED and wanted in step.readings[0].says
    else:
        assert outcome(step) == wanted
