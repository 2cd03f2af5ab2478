"""Heat and power under load: figures of a body that is known, limits, keys, words.

Outside sources: the closed solution of the first-order body (arithmetic); the kernel's
powercap documentation; Ohm's law for the battery; cell datasheets for its limits.
"""

from __future__ import annotations

import os
import signal
import threading
import time

import pytest

from livecheck import knowledge
from livecheck.commands.progress_output import ProgressOutput
from livecheck.inventory import power_supply, sensors, smbios
from livecheck.meters import Sampler
from livecheck.meters.energy import joules, watts
from livecheck.probes import registry
from livecheck.probes.heat import under_load
from livecheck.probes.heat.cooling import NO_SENSOR
from livecheck.probes.heat.under_load import probe
from livecheck.probes.runner import Event
from livecheck.records import NotTested, Outcome, Reading
from tests.inventory.fake_host import FakeHost
from tests.probes.bus.hot_host import HWMON, RAPL, WRAP_UJ, HotHost
from tests.probes.support import context, untested


def run(host: HotHost, monkeypatch: pytest.MonkeyPatch) -> dict[str, Reading | NotTested]:
    """Readings by check, what was not tested by its name."""
    monkeypatch.setattr("livecheck.native.load.run", host.load)
    given = context(host, smbios.find, sensors.find, power_supply.find)
    found: dict[str, Reading | NotTested] = {}
    for item in probe(given):
        if isinstance(item, Reading):
            found[item.check] = item
        elif isinstance(item, NotTested):
            found[item.what] = item
    return found


def reading(found: dict[str, Reading | NotTested], check: str) -> Reading:
    item = found[check]
    assert isinstance(item, Reading)
    return item


def test_a_body_of_known_resistance_is_measured(monkeypatch: pytest.MonkeyPatch) -> None:
    """2.4 + 0.4 K/W and 40 s come back to 5 %, through a counter that begins again in mid-load."""
    host = HotHost()
    found = run(host, monkeypatch)
    cooling = reading(found, "heat.cooling")
    assert cooling.outcome is Outcome.PASSED and cooling.at == "cooling@cooling"
    assert cooling.value == pytest.approx(2.8, rel=0.05) and cooling.unit == "K/W"
    assert cooling.spread is not None and cooling.spread < 0.15
    assert "within what such machines do" in cooling.says
    tau = reading(found, "heat.time-constant")
    assert tau.value == pytest.approx(40.0, rel=0.05) and tau.outcome is Outcome.NOT_JUDGED
    assert reading(found, "heat.stopped").outcome is Outcome.PASSED


@pytest.mark.parametrize(
    ("host", "word"),
    [
        # 28 °C + 15 W · R against 100 °C: 4.8 K/W is the most; the load stops at 98 °C.
        (HotHost(resistance=5.0, busy=14.0, limit=100), "airways blocked"),
        (HotHost(resistance=5.0, busy=14.0, limit=100, rpm=0), "fan not turning"),
        (HotHost(resistance=1.6, prompt=3.4, busy=15.0, limit=100), "heatsink contact poor"),
    ],
)
def test_each_cooling_gets_its_verdict(
    host: HotHost, word: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Predicted to reach the limit at the power that may last, before it has been reached."""
    found = reading(run(host, monkeypatch), "heat.cooling")
    assert found.outcome is Outcome.FAILED, found
    assert word in found.says


def test_the_load_stops_at_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    """It never gets hotter than the limit; the reading says which sensor and when."""
    host = HotHost(resistance=8.0, tau=30.0, limit=95)
    found = run(host, monkeypatch)
    stopped = reading(found, "heat.stopped")
    assert stopped.outcome is Outcome.FAILED and "95 °C" in stopped.says
    assert isinstance(stopped.value, float) and 92.0 <= stopped.value < 95.0


@pytest.mark.parametrize(
    ("trip", "check", "outcome"),
    [
        # 28 °C + 20 W · 8.4 K/W is far above either; the chip's own limit is 105 °C.
        (("critical", 100), "heat.critical", Outcome.FAILED),
        (("hot", 100), "heat.critical", Outcome.FAILED),
        (("passive", 100), "heat.stopped", Outcome.FAILED),
        (("critical", 120), "heat.stopped", Outcome.FAILED),
    ],
)
def test_where_the_kernel_would_switch_off_is_told_apart(
    trip: tuple[str, int], check: str, outcome: Outcome, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Kernel, sysfs-api of thermal: hot and critical put out, passive only slows down."""
    found = run(HotHost(resistance=8.0, tau=30.0, limit=105, trip=trip), monkeypatch)
    stops = {"heat.critical", "heat.stopped"} & set(found)
    assert {name: reading(found, name).outcome for name in stops} == {check: outcome}


def test_a_load_that_ends_by_itself_passes_both(monkeypatch: pytest.MonkeyPatch) -> None:
    found = run(HotHost(trip=("critical", 110)), monkeypatch)
    for check in ("heat.critical", "heat.stopped"):
        assert reading(found, check).outcome is Outcome.PASSED


def test_without_a_power_meter_resistance_is_not_known(monkeypatch: pytest.MonkeyPatch) -> None:
    """No energy counter: no resistance, but the time constant and where it settles."""
    host = HotHost()
    host.files = {p: c for p, c in host.files.items() if not p.startswith(RAPL)}
    host.devices = tuple(d for d in host.devices if d.subsystem != "powercap")
    found = run(host, monkeypatch)
    assert reading(found, "heat.cooling").outcome is Outcome.NOT_JUDGED
    assert reading(found, "heat.time-constant").value == pytest.approx(40.0, rel=0.1)


def test_without_any_sensor_nothing_is_loaded() -> None:
    """It says what it cannot know, and loads nothing."""
    missed = untested(probe, context(FakeHost()))
    assert missed["Cooling under load"] == NO_SENSOR and "cannot be known" in NO_SENSOR
    assert "Heat and power under load" in missed


def test_energy_counter_is_never_written(monkeypatch: pytest.MonkeyPatch) -> None:
    """A host has no way to write; the counter is read, and only below its own name."""
    host = HotHost()
    run(host, monkeypatch)
    assert f"{RAPL}/energy_uj" in host.read_paths
    assert not [n for n in dir(FakeHost) if "write" in n]


@pytest.mark.parametrize("wrap", [262_143_328_850, WRAP_UJ])
def test_an_energy_counter_that_begins_again_loses_nothing(wrap: int) -> None:
    """Ranges of the kernel at energy units 2^-14 and 2^-16 J: (b − a) mod (range + 1)."""
    span = (wrap + 1) * 1e-6
    assert joules((wrap - 9) * 1e-6, 5e-6, span) == pytest.approx(15e-6, abs=1e-9)
    assert watts(1.0, 16.0, span, 1.0) == pytest.approx(15.0)
    assert watts(1.0, 16.0, span, 0.0) is None
    # At 15 W the counter begins again after 17476 s and 4369 s.
    assert span / 15 == pytest.approx({262_143_328_850: 17476, WRAP_UJ: 4369}[wrap], abs=1)


@pytest.mark.parametrize(("ohms", "outcome"), [(0.15, Outcome.PASSED), (0.6, Outcome.FAILED)])
def test_a_battery_is_judged_by_its_resistance(
    ohms: float, outcome: Outcome, monkeypatch: pytest.MonkeyPatch
) -> None:
    """ΔV / ΔI by Ohm's law: 2 A more through 0.15 and 0.6 ohm; three cells in series."""
    found = reading(run(HotHost(battery={"ohms": ohms}), monkeypatch), "power.holds-load")
    assert found.outcome is outcome and found.value == pytest.approx(ohms, rel=0.01)
    assert found.at == "battery@bay:BAT0" and "3 cells" in found.says


def test_an_adapter_that_is_too_weak_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    """With power coming in the battery gives 2.5 A at some 12 V: the adapter does not carry."""
    found = run(HotHost(battery={"online": 1, "ohms": 0.1}), monkeypatch)
    assert reading(found, "power.adapter-holds").outcome is Outcome.FAILED
    assert reading(found, "power.adapter-holds").value == pytest.approx(2.5 * 12.05, rel=0.01)


class _Jumps(FakeHost):
    """Real time; the sensor jumps to its limit when told."""

    def __init__(self) -> None:
        made = HotHost()
        super().__init__(made.files, made.devices)
        self.hot = threading.Event()

    def read(self, path: str) -> bytes:
        if path == f"{HWMON}/temp1_input":
            return b"99000" if self.hot.is_set() else b"50000"
        return super().read(path)

    def clock(self) -> float:
        return time.monotonic()

    def wait(self, seconds: float) -> None:
        time.sleep(seconds)


@pytest.mark.slow
@pytest.mark.parametrize("by", ["limit", "key"])
def test_load_ends_within_a_second(by: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The real load in real time: from the jump, or the signal, to the first reading."""
    monkeypatch.setitem(under_load.PHASES, "quick", (0.0, 60.0, 0.0))
    host = _Jumps()
    when: list[float] = []

    def act() -> None:
        when.append(time.monotonic())
        if by == "limit":
            host.hot.set()
        else:
            os.kill(os.getpid(), signal.SIGTERM)

    timer = threading.Timer(1.5, act)
    timer.start()
    found = None
    for item in probe(context(host, smbios.find, sensors.find)):
        if isinstance(item, Reading):
            found = found or time.monotonic()
    timer.join()
    assert found is not None and found - when[0] < 1.0


def test_sampler_reads_what_the_probe_fits() -> None:
    host = HotHost()
    sampler = Sampler(host)
    sampler.take()
    host.loaded = True
    host.wait(2.0)
    sample = sampler.take()
    told = dict(zip((c.key for c in sampler.channels), sample.values, strict=True))
    assert told["power:package-0"] == pytest.approx(20.0, abs=0.01)


def test_cautions_are_said(capsys: pytest.CaptureFixture[str]) -> None:
    """Before the load: what gets hot, and the fan; each a row of the table of cautions."""
    ProgressOutput()(Event(kind="started", probe="heat-load", title="Heat"))
    said = capsys.readouterr().err
    assert said.count("CAUTION") == 2 and "hot after a load" in said
    for known in registry.ALL:
        assert set(known.cautions) <= set(knowledge.load().cautions)
