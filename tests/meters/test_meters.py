"""Meters: what they read, how they are kept and squeezed, and what a screen is told.

Outside sources: units of the kernel's hwmon, thermal, powercap, power supply and cpufreq
classes; proc(5) for the load.
"""

from __future__ import annotations

import itertools

import pytest

from livecheck.meters import History, Sample, Sampler, Sort, feed, gauges
from livecheck.meters.sample import hottest
from tests.inventory.fake_host import SYS, FakeHost
from tests.recorder.machines import CHANNELS, laptop


def told(host: FakeHost, sampler: Sampler) -> dict[str, float | None]:
    return dict(zip((c.key for c in sampler.channels), sampler.take().values, strict=True))


def test_units() -> None:
    """Millidegrees, µV, µA, kHz and counts come out in °C, V, A, MHz and counts."""
    host = laptop()
    sampler = Sampler(host)
    found = told(host, sampler)
    assert found["temperature:coretemp/Package id 0"] == 61.0
    assert found["temperature:acpitz"] == 48.0
    assert found["fan:coretemp/fan1"] == 2780
    assert found["battery-volts:BAT0"] == pytest.approx(12.34)
    assert found["battery-amperes:BAT0"] == pytest.approx(1.25)
    assert found["battery-charge:BAT0"] == 71
    assert found["battery-status:BAT0"] == 1.0
    assert found["adapter:AC"] == 1.0
    assert found["frequency:cpu0"] == 1800.0
    assert found["throttle:package"] == 3
    assert found["power:package-0"] is None and found["load"] is None  # need a second look


def test_load_from_idle_time() -> None:
    """One processor, 10 s later, 4 of them idle: 60 % at work."""
    host = laptop()
    sampler = Sampler(host)
    told(host, sampler)
    host.files["/proc/uptime"] = "1010.00 904.00\n"
    assert told(host, sampler)["load"] == pytest.approx(60.0)


def test_what_cannot_be_read_is_no_value() -> None:
    """A sensor that goes away, or shows what cannot be, leaves a gap and nothing else."""
    host = laptop()
    sampler = Sampler(host)
    host.files[f"{SYS}/hwmon0/temp1_input"] = 5
    host.files[f"{SYS}/tz/temp"] = "-128000"
    host.files[f"{SYS}/BAT0/status"] = "Curious"
    found = told(host, sampler)
    assert found["temperature:coretemp/Package id 0"] is None
    assert found["temperature:acpitz"] is None and found["battery-status:BAT0"] is None
    assert found["adapter:AC"] == 1.0


@pytest.mark.parametrize("figure", ["9" * 400, "-" + "9" * 400, "9" * 5000, "nan", "", "1 2"])
def test_a_figure_beyond_measure_ends_no_sampling(figure: str) -> None:
    """The recorder and the console's meters read on, whatever a sensor says."""
    host = laptop()
    sampler = Sampler(host)
    for channel in sampler.channels:
        host.files[channel.source] = figure
    assert set(told(host, sampler).values()) == {None}


def test_no_sensor_no_channel() -> None:
    assert not Sampler(FakeHost()).channels


def test_limits() -> None:
    """The chip's critical temperature, the zone's lowest trip that does something."""
    limits = {c.key: c.limit for c in Sampler(laptop()).channels if c.sort is Sort.TEMPERATURE}
    assert limits == {"temperature:coretemp/Package id 0": 100.0, "temperature:acpitz": 105.0}


class _Ticking(FakeHost):
    """A clock that waiting moves; every sample takes a while."""

    def __init__(self, each: float) -> None:
        super().__init__(laptop().files, laptop().devices)
        self.now, self._each = 0.0, each

    def clock(self) -> float:
        return self.now

    def wait(self, seconds: float) -> None:
        self.now += seconds

    def read(self, path: str) -> bytes:
        if path == "/proc/uptime":
            self.now += self._each
        return super().read(path)


@pytest.mark.parametrize(("each", "period"), [(0.0, 1.0), (0.4, 1.0), (1.5, 1.5)])
def test_feed_keeps_to_the_clock(each: float, period: float) -> None:
    """A slow sample shortens the wait; ticks missed are left out, not made up for."""
    host = _Ticking(each)
    sampler = Sampler(host)
    samples = feed(host, sampler)
    times = [next(samples).seconds for _ in range(10)]
    gaps = [b - a for a, b in itertools.pairwise(times)]
    assert gaps == pytest.approx([period] * 9)


def _sample(second: int, celsius: float | None) -> Sample:
    return Sample(seconds=float(second), values=(celsius, 1.0, 80.0, 12.1, 2.0, 97.0))


def test_history_is_a_ring() -> None:
    history = History(CHANNELS, most=100)
    for second in range(250):
        history.add(_sample(second, 50.0))
    assert len(history.samples) == 100 and history.samples[0].seconds == 150


def test_columns_lose_no_peak() -> None:
    """300 s in 40 columns: one hot second is in its column; gaps are empty; newest right."""
    history = History(CHANNELS)
    for second in range(300):
        celsius = 95.0 if second == 123 else None if 200 <= second < 220 else 50.0
        history.add(_sample(second, celsius))
    columns = history.columns(0, 40, 300)
    assert len(columns) == 40
    assert sum(c is not None and c.high == 95.0 for c in columns) == 1
    assert sum(c is None for c in columns) in (1, 2, 3)
    last = columns[-1]
    assert last is not None and last.last == 50.0
    assert History(CHANNELS).columns(0, 5, 60) == [None] * 5


@pytest.mark.parametrize(
    ("celsius", "state"), [(50.0, "ordinary"), (91.0, "near"), (100.0, "over"), (None, "ordinary")]
)
def test_gauges(celsius: float | None, state: str) -> None:
    """How near its limit of 100 °C; an adapter that is gone is loud."""
    rows = gauges(CHANNELS, _sample(1, celsius), (Sort.TEMPERATURE, Sort.ADAPTER))
    assert [r.state for r in rows] == [state, "ordinary"]
    assert rows[0].text == ("not read" if celsius is None else f"{celsius:.0f} °C")
    gone = Sample(seconds=1.0, values=(50.0, 0.0, None, None, None, None))
    (lost,) = gauges(CHANNELS, gone, (Sort.ADAPTER,))
    assert lost.state == "lost" and lost.text == "NO POWER"


def test_hottest_is_nearest_to_its_limit() -> None:
    found = hottest(CHANNELS, _sample(1, 71.0))
    assert found is not None and found[1] == 71.0
    assert hottest(CHANNELS, _sample(1, None)) is None
