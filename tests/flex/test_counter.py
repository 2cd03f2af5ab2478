"""Losses counted and timed; watched on a clock of our own; compared with a second adapter.

Outside sources: the pattern's own times (made up, seeded); scipy's binomial test for the
comparison; Documentation/ABI/testing/sysfs-class-power for ``online``.
"""

from __future__ import annotations

import itertools
import random

import pytest
from scipy.stats import binomtest

from livecheck import flex, knowledge
from livecheck.flex import Counter, FlexResult
from livecheck.flex.compare import by_chance
from livecheck.flex.readings import CHECK, duration, says
from livecheck.inventory import power_supply
from livecheck.records import Outcome, Reading
from tests.inventory.fake_host import SYS, FakeHost, attributes, device
from tests.probes.support import context

LIMITS = knowledge.load().checks[CHECK].limits
AC = f"{SYS}/ADP1"


def pattern(count: int, shortest: float, longest: float, seed: int) -> list[tuple[float, float]]:
    """Losses (start, seconds) between two lengths, with power in between."""
    dice = random.Random(seed)
    found, now = [], 1.0
    for k in range(count):
        length = shortest + (longest - shortest) * k / (count - 1)
        found.append((now, length))
        now += length + dice.uniform(0.3, 1.5)
    dice.shuffle(found)
    return sorted(found)


def _fed(losses: list[tuple[float, float]], now: float) -> bool:
    return not any(start <= now < start + length for start, length in losses)


class Jack(FakeHost):
    """An ACPI adapter that flickers by a pattern, on a clock that waiting moves."""

    def __init__(self, losses: list[tuple[float, float]], unrest: float = 0.0) -> None:
        super().__init__(
            attributes(AC, type="Mains", online=1), [device("power_supply", "ADP1", AC)]
        )
        self.losses = losses
        self.now = 0.0
        self._dice = random.Random(5)
        self._unrest = unrest

    def read(self, path: str) -> bytes:
        if path.endswith("/online"):
            self.now += 0.002  # an embedded controller takes its time
            return b"1\n" if _fed(self.losses, self.now) else b"0\n"
        return super().read(path)

    def clock(self) -> float:
        return self.now

    def wait(self, seconds: float) -> None:
        self.now += seconds + self._dice.uniform(0, self._unrest)


def watched(jack: Jack, seconds: float) -> FlexResult:
    (supply,) = flex.supplies(jack)
    jack.now = 0.0
    *_, last = flex.watch(jack, supply, seconds)
    return last.result(None)


@pytest.mark.parametrize("seed", range(5))
def test_twelve_losses_between_60_ms_and_2_s(seed: int) -> None:
    """Every one is counted; each time is right to two gaps."""
    losses = pattern(12, 0.06, 2.0, seed)
    found = watched(Jack(losses, unrest=0.006), losses[-1][0] + 4)
    assert found.count == 12 and found.fed_at_start
    for (start, length), loss in zip(losses, found.losses, strict=True):
        assert loss.over
        assert loss.start == pytest.approx(start, abs=2 * found.longest_gap + 0.01)
        assert loss.seconds == pytest.approx(length, abs=2 * found.longest_gap)
        assert loss.seconds + loss.uncertain >= length - found.longest_gap
    assert found.longest_gap < 0.03


@pytest.mark.parametrize("length", [0.001, 0.005, 0.02, 0.05])
def test_every_loss_longer_than_the_longest_gap_is_seen(length: float) -> None:
    """The promise made beside the count, on losses from hopeless to easy."""
    losses = [(1 + 0.37 * k, length) for k in range(60)]
    found = watched(Jack(losses, unrest=0.01), 25)
    if length > found.longest_gap:
        assert found.count == 60
    else:
        assert found.count < 60 or length > found.usual_gap
        # A look falls into a loss at most about length / usual gap of the times.
        assert found.count <= 60 * min(1.0, 2 * length / found.usual_gap)


def test_loss_at_the_end_and_at_the_start() -> None:
    """Not back at the end is said; without power at the start nothing was lost."""
    open_end = watched(Jack([(2.0, 99.0)]), 5)
    assert open_end.count == 1 and not open_end.losses[0].over
    unplugged = watched(Jack([(0.0, 2.0), (4.0, 0.5)]), 6)
    assert unplugged.fed_at_start is False and unplugged.count == 1


def test_what_the_firmware_tells() -> None:
    """News of a loss no look saw counts; late news of one that was seen does not."""
    counter = Counter("AC")
    for k in range(100):
        counter.look(k * 0.01, True)
    assert counter.told(1.0, False) and counter.lost
    counter.look(1.01, True)
    assert counter.result().count == 1
    for k in range(100):
        counter.look(2 + k * 0.01, not 30 <= k < 40)
    assert not counter.told(2.995, True)
    assert not counter.told(2.45, False)
    assert counter.result().count == 2 and counter.result().events == 3
    assert not counter.look(3.5, None)


def _reading(result: FlexResult) -> Reading:
    host = FakeHost(attributes(AC, type="Mains", online=1), [device("power_supply", "ADP1", AC)])
    (reading,) = flex.readings(result, context(host, power_supply.find).inventory, LIMITS)
    return reading


def test_readings() -> None:
    """At the adapter; failed from the first loss; short watches and dead jacks are not judged."""
    found = _reading(watched(Jack([(2.0, 0.5)]), 15))
    assert found.outcome is Outcome.FAILED and found.value == 1
    assert found.at == "adapter@jack:ADP1" and "longest" in found.says
    assert _reading(watched(Jack([]), 15)).outcome is Outcome.PASSED
    assert _reading(watched(Jack([]), 3)).outcome is Outcome.NOT_JUDGED
    assert _reading(watched(Jack([(0.0, 99.0)]), 15)).outcome is Outcome.NOT_JUDGED
    assert "known spare" in says(watched(Jack([]), 3)).replace("the adapter", "known spare")


def _result(count: int, seconds: float = 60.0) -> FlexResult:
    loss = flex.Loss(start=1.0, seconds=0.1, uncertain=0.01)
    return FlexResult(supply="AC", seconds=seconds, looks=6000, losses=(loss,) * count,
                  longest_gap=0.02, usual_gap=0.012, fed_at_start=True)  # fmt: skip


@pytest.mark.parametrize(
    ("own", "good", "word"),
    [(12, 0, "adapter"), (12, 9, "jack"), (0, 0, "none"), (0, 4, "jack"), (1, 0, "cannot tell")],
)
def test_adapter_against_jack(own: int, good: int, word: str) -> None:
    assert flex.compare(_result(own), _result(good)).at_fault == word


def test_a_short_second_watch_tells_nothing() -> None:
    assert flex.compare(_result(4), _result(0, seconds=5.0)).at_fault == "cannot tell"


def test_chance_agrees_with_scipy() -> None:
    """The conditional test of two counts is a one-sided binomial test."""
    for first, second in itertools.product((0, 1, 5, 12), (0, 3)):
        if not first + second:
            continue
        theirs = binomtest(first, first + second, 60 / 90, alternative="greater").pvalue
        assert by_chance(first, 60, second, 30) == pytest.approx(theirs)


def test_jacks_are_found() -> None:
    """Batteries and what is in a mouse are none; the one with power comes first."""
    files = attributes(f"{SYS}/USB", type="USB", online=1) | attributes(AC, type="Mains", online=0)
    files |= attributes(f"{SYS}/BAT0", type="Battery", status="Full")
    files |= attributes(f"{SYS}/mouse", type="USB", scope="Device", online=1)
    listed = [device("power_supply", n) for n in ("BAT0", "USB", "mouse")]
    host = FakeHost(files, [*listed, device("power_supply", "ADP1", AC)])
    assert [s.name for s in flex.supplies(host)] == ["USB", "ADP1"]
    assert not flex.supplies(FakeHost())


@pytest.mark.parametrize(("seconds", "words"), [(0.0701, "70 ms"), (1.94, "1.9 s"), (0.0, "0 ms")])
def test_durations(seconds: float, words: str) -> None:
    assert duration(seconds) == words
