"""Devices that lie to a guided check.

Sources: Linux include/uapi/linux/input.h (struct input_event: any type, code and value) and
Documentation/input/multi-touch-protocol.rst (slots); IEEE 754; RFC 8259, 6 (no NaN in JSON).
"""

from __future__ import annotations

import json
import math
import random
import re
import time
import tracemalloc
from typing import Any, Final

import msgspec
import pytest

from livecheck.guided import Event, Guide, GuideOffer, GuideStep, offered, open_guide
from livecheck.guided.bench import EVENT, parse
from livecheck.guided.events import Acted, Answered, Frames, Heard, Ranges, Tick
from livecheck.guided.live import LiveBench
from livecheck.guided.sights import (
    CardSeen,
    ClockSeen,
    Input,
    LidSeen,
    LinkSeen,
    ScreenLinkSeen,
    SensorSeen,
    UsbSeen,
    UsbSight,
)
from livecheck.guided.watcher import Watcher
from livecheck.inventory.usb_speed import running
from livecheck.records import Outcome
from livecheck.wording import clean
from tests.guided.support import LAPTOP, TABLE, TABLES
from tests.testbeds.bed import Bed, BedHost

OFFERS: Final[dict[str, GuideOffer]] = {}
for _one in offered(LAPTOP, TABLE):
    OFFERS.setdefault(_one.row.name, _one)
STEERING: Final = set("\x1b\x9b\u202e\u2066\x00")


def _sound(step: GuideStep) -> None:
    """Drawn, and kept, without a figure that is none."""
    json.loads(msgspec.json.encode(step), parse_constant=lambda word: pytest.fail(word))
    assert step.progress is None or 0.0 <= step.progress <= 1.0
    assert not set(clean("".join(step.lines))) & STEERING
    for reading in step.readings:
        figures = reading.value is None or not isinstance(reading.value, float)
        assert figures or math.isfinite(float(reading.value or 0)), reading
        assert not re.search(r"\b(nan|inf)\b", reading.says), reading.says


def _fed(guide: Guide, event: Event, step: GuideStep) -> GuideStep:
    """The next step; an act that is asked for is done."""
    step = guide.feed(event)
    for _ in range(9):
        if step.act is None or step.done:
            break
        step = guide.feed(Acted(number=step.act.number))
    return step


ODD: Final = (0, 1, 2, -1, 3, 0x2F, 0x35, 0x36, 0x39, 0x14A, 0x2FF, 65535, 2**31 - 1, -(2**31))


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("name", OFFERS)
def test_events_of_any_kind(name: str, seed: int) -> None:
    """G01: from the device that the check watches."""
    dice, begun = random.Random(seed), time.process_time()
    offer = OFFERS[name]
    guide = open_guide(offer, TABLES, TABLE)
    step = guide.start()
    path = offer.targets[0].path or ""
    step = _fed(guide, Ranges(number=1, x=(0, 100), y=(-5, 100), multitouch=seed > 0), step)
    tracemalloc.start()
    for number in range(20_000):
        kind = dice.choice((0, 1, 2, 3, 4, 5, 21, 31, dice.choice(ODD) & 0xFFFF))
        value = dice.randrange(-(2**31), 2**31) if dice.random() < 0.5 else dice.choice(ODD)
        event = Input(seconds=number * dice.choice((1e-3, -1.0, 1e9)), kind=kind,
                      code=dice.choice(ODD) & 0xFFFF, value=value, path=path)  # fmt: skip
        step = _fed(guide, event, step)
        if number % 500 == 0:
            _sound(step)
    _sound(step)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < 50 << 20
    assert time.process_time() - begun < 20


NUMBERS: Final[tuple[Any, ...]] = (
    0, 1, -1, 255, 2**31, 2**63 - 1, -(2**63), 0.0, -0.0, 1e308, -1e308, 5e-324,
    float("nan"), float("inf"), float("-inf"),
)  # fmt: skip
TIMES: Final = (0.0, 1.0, 2.5, 60.0, 61.0, 3600.0, 1e6, 5.0)
WORDS: Final = ("", " ", "usb:1-1", "mmc:mmc0", "eno1", "accel_x", "illuminance", "\u202ex",
                "\x1b[2J", "x" * 10_000, "yes", "no", "done", "1-1")  # fmt: skip


def _event(dice: random.Random, choices: tuple[str, ...]) -> Event:
    def number() -> Any:
        return dice.choice(NUMBERS)

    def whole() -> int:
        found = number()
        return int(found) if found == found and abs(found) < 1e300 else 7

    def word() -> str:
        return dice.choice(WORDS)

    # The time of a look is the bench's own; it is no figure of a device.
    seconds, flag = dice.choice(TIMES), dice.choice((True, False, None))
    # What is heard and seen is worked out from samples here, and so is finite.
    level, share = dice.uniform(-200.0, 20.0), dice.random()
    sight = UsbSight(name=word(), place=word(), speed=480.0 * share, usb_id=word(), serial=word())
    given: dict[str, Any] = {"seconds": seconds}
    events: list[Event] = [
        Answered(value=dice.choice((*choices, word()))), Tick(**given),
        UsbSeen(**given, devices=(sight,) * dice.randrange(3), over_current={word(): whole()},
                messages=((word(), word()),)),
        CardSeen(**given, cards=((word(), word(), word()),) * dice.randrange(3)),
        LidSeen(**given, open=flag),
        LinkSeen(**given, carrier=flag, speed=whole(), duplex=word(), errors=whole(),
                 packets=whole()),
        ScreenLinkSeen(**given, errors=whole(), allowed=number(), trouble=word(),
                       unseen=bool(flag)),
        SensorSeen(**given, values={word(): float(whole()) for _ in range(dice.randrange(4))}),
        ClockSeen(**given, epoch=dice.choice((None, whole()))),
        Ranges(number=whole(), x=dice.choice((None, (whole(), whole()))), y=(whole(), whole())),
        Heard(number=whole(), quiet=level, tone=-level, rms=level, clipped=share),
        Frames(number=whole(), taken=whole(), lost=whole(), width=whole(), height=whole(),
               mean=255 * share, deviation=share, bright=share, dark=1 - share, motion=share),
        Acted(number=whole(), why_not=dice.choice((None, word()))),
    ]  # fmt: skip
    return dice.choice(events)


@pytest.mark.parametrize("name", OFFERS)
def test_everything_else_a_check_is_told(name: str) -> None:
    """G02: forty guides of a hundred and fifty events each."""
    for seed in range(40):
        dice = random.Random(f"{name} {seed}")
        guide = open_guide(OFFERS[name], TABLES, TABLE)
        step = guide.start()
        for _ in range(150):
            event = _event(dice, tuple(choice.value for choice in step.choices))
            step = _fed(guide, event, step)
            _sound(step)


@pytest.mark.parametrize("name", ["camera", "speaker", "sensor", "clock", "network"])
def test_figures_that_are_none_pass_nothing(name: str) -> None:
    """G02: a camera whose frames are of nothing, a tone of no loudness."""
    nothing = float("nan")
    for offer in (one for key, one in OFFERS.items() if name in key):
        guide = open_guide(offer, TABLES, TABLE)
        step = guide.start()
        for number in range(1, 12):
            for event in (
                Heard(number=number, quiet=nothing, tone=nothing, rms=nothing, clipped=nothing),
                Frames(number=number, taken=0, width=0, height=0, mean=nothing, deviation=nothing),
                SensorSeen(seconds=float(number), values={"accel_x": nothing}),
                ClockSeen(seconds=float(number), epoch=None), Tick(seconds=float(number)),
            ):  # fmt: skip
                step = _fed(guide, event, step)
        assert Outcome.PASSED not in {reading.outcome for reading in step.readings}


@pytest.mark.parametrize("second", ["inf", "-inf", "nan", "1e308", "1e400", "9" * 400, "x", ""])
@pytest.mark.parametrize("first", ["0", "-1e308", "nan"])
def test_a_sensor_that_tells_no_figure(first: str, second: str) -> None:
    """G02: as its files tell it: nothing was moved."""
    path = OFFERS["sensors"].targets[0].path
    guide, now = open_guide(OFFERS["sensors"], TABLES, TABLE), 0.0
    step = guide.start()
    for value in (first, second, first, second):
        host = BedHost(Bed(nodes=(), extra={f"{path}/in_accel_x_raw": value}))
        with Watcher(host, LiveBench(), lambda: now) as watcher:
            for event in watcher.poll(step):
                step = _fed(guide, event, step)
        _sound(step)
    assert step.readings == ()


@pytest.mark.parametrize(
    "told", ["inf", "nan", "1e9", "-480", "4_80", "\u0664\u0668\u0660", "1e400"]
)
def test_a_speed_that_is_none(told: str) -> None:
    """G02: what a port runs at is what its file says in plain figures (1.5, 480, 20000)."""
    for text, speed in ((told, None), ("1.5", 1.5), ("480", 480.0), ("20000", 20000.0)):
        host = BedHost(Bed(nodes=(), extra={"/sys/u/1-1/speed": text}))
        assert running(host, "/sys/u/1-1") == speed


@pytest.mark.parametrize("length", [0, 1, 7, 23, 24, 25, 16 * 3, 1 << 16])
def test_bytes_of_an_input_device(length: int) -> None:
    """G03: what is no whole event is left out."""
    for seed in range(20):
        data = random.Random(seed).randbytes(length)
        found = list(parse(data, "x"))
        assert len(found) == length // EVENT.size
        assert all(one.seconds == one.seconds for one in found)
