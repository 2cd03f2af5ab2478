"""The soak of a hand-over: it ends by time, by heat and by the technician."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from livecheck import inventory, knowledge
from livecheck.live_host import LiveHost
from livecheck.plan import Plan, planned_probes
from livecheck.probes import Context, Yield, registry
from livecheck.probes.heat import limits
from livecheck.probes.processor import soak
from livecheck.records import Complaint, NotTested, Outcome, Reading
from tests.inventory.fake_host import FakeHost, attributes, device


def context(seconds: float, host: LiveHost | FakeHost | None = None) -> Context:
    live = host or LiveHost()
    return Context(host=live, inventory=inventory.take(live), events=(),
                   knowledge=knowledge.load(), soak_seconds=seconds)  # fmt: skip


def split(found: Iterator[Yield]) -> tuple[dict[str, Reading], list[NotTested]]:
    kept = list(found)
    return (
        {r.check: r for r in kept if isinstance(r, Reading)},
        [n for n in kept if isinstance(n, NotTested)],
    )


@pytest.mark.slow
@pytest.mark.skipif(soak.MISSING is not None, reason="the C parts are not built here")
def test_a_short_soak_of_this_machine_passes() -> None:
    """Both loads ran, judged themselves, and the time is told."""
    readings, _ = split(soak.probe(context(6.0)))
    assert readings["soak.endured"].outcome is Outcome.PASSED
    assert readings["soak.endured"].value == pytest.approx(0.1, abs=0.15)
    assert readings["processor.results"].outcome is Outcome.PASSED
    assert readings["memory.words"].outcome is not Outcome.FAILED
    assert set(readings) <= set(knowledge.load().checks)


@pytest.mark.slow
@pytest.mark.skipif(soak.MISSING is not None, reason="the C parts are not built here")
def test_heat_ends_the_soak(monkeypatch: pytest.MonkeyPatch) -> None:
    """Near a trip point the load ends, and that is what the reading says."""
    looks = iter([None, None, "zone cpu is at 98 °C; its limit is 100"])
    monkeypatch.setattr(limits, "too_hot", lambda host: next(looks, "zone cpu is hot"))
    readings, _ = split(soak.probe(context(60.0)))
    ended = readings["soak.endured"]
    assert ended.outcome is Outcome.FAILED and "98 °C" in ended.says
    assert isinstance(ended.value, float) and ended.value < 0.5


def test_a_hot_machine_is_not_loaded_at_all() -> None:
    """A real reading of a thermal zone (thermal/sysfs-api.rst), 2 K below its last trip."""
    zone = "/sys/class/thermal/thermal_zone0"
    files = attributes(zone, type="cpu", temp=98000, trip_point_0_type="critical",
                       trip_point_0_temp=100000)  # fmt: skip
    host = FakeHost(files, [device("thermal", "thermal_zone0", zone)])
    readings, missed = split(soak.probe(context(60.0, host)))
    assert not readings and "too hot" in missed[0].why


def test_it_runs_only_at_a_hand_over() -> None:
    """Its hours are its deadline there; elsewhere it is not among the probes."""
    usual = planned_probes(Plan(complaint=Complaint.UNSTABLE))
    assert "soak" not in {p.name for p in usual}
    last = planned_probes(Plan(hand_over=True, soak_hours=2.0))
    assert {p.name for p in last} == {p.name for p in registry.ALL}
    (own,) = [p for p in last if p.name == "soak"]
    assert own.deadline > 2 * 3600
    without = planned_probes(Plan(hand_over=True))
    assert "soak" not in {p.name for p in without}


def test_progress_says_what_is_loaded_and_how_hot_it_is() -> None:
    stopped = soak.endured(soak.SoakResult(asked=7200.0, stood=600.0, stopped=True, hottest=71.0))
    assert stopped.outcome is Outcome.NOT_JUDGED
    assert "10 min of 120 min under load, 71 °C" in str(stopped.why_not)
