"""The processor probe: wrong results, throttling, and a load that names its core."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence

import pytest

from livecheck import knowledge
from livecheck.native import load
from livecheck.probes import Context, Progress
from livecheck.probes.processor import cores
from livecheck.records import Inventory, Outcome, Part, Reading
from tests.probes.memory.hosts import Files

Watch = Callable[[float, Sequence[load.CoreResult]], bool]

PROCESSOR = Part(id="processor@socket:0", kind="processor", name="Quillon Q4", place="socket:0")
COUNTER = f"{cores.CPU}/cpu0/thermal_throttle/core_throttle_count"


def context(files: Files) -> Context:
    return Context(
        host=files,
        inventory=Inventory(parts=(PROCESSOR,)),
        events=(),
        knowledge=knowledge.load(),
    )


@pytest.fixture(autouse=True)
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(cores.SECONDS, "quick", 1.0)
    monkeypatch.setattr(cores, "SLICE", 0.4)


def readings(files: Files) -> dict[str, Reading]:
    items = list(cores.probe(context(files)))
    assert any(isinstance(item, Progress) for item in items)
    return {item.check: item for item in items if isinstance(item, Reading)}


def test_a_sound_processor_passes() -> None:
    found = readings(Files({COUNTER: "3"}))
    assert found["processor.results"].outcome is Outcome.PASSED
    assert found["processor.results"].at == PROCESSOR.id
    assert found["processor.throttling"].outcome is Outcome.PASSED
    assert found["processor.machine-checks"].outcome is Outcome.PASSED


def test_the_wrong_core_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault spoilt into one core's results comes out with that core, heat and clock."""
    wrong = max(os.sched_getaffinity(0))
    sound = load.run

    def faulty(
        cpus: Sequence[int], seconds: float, watch: Watch, *, turn: int
    ) -> list[load.CoreResult]:
        return sound(cpus, seconds, watch, {wrong: 2}, turn)

    monkeypatch.setattr(load, "run", faulty)
    files = {
        COUNTER: "0",
        "/sys/class/thermal/thermal_zone0/temp": "93000",
        f"{cores.CPU}/cpu{wrong}/cpufreq/scaling_cur_freq": "2400000",
    }
    results = readings(Files(files))["processor.results"]
    assert results.outcome is Outcome.FAILED
    assert f"on core {wrong}." in results.says
    assert all(line.startswith(f"core {wrong}: ") for line in results.details)
    assert "93 °C, 2400 MHz" in results.details[0]


class Warming(Files):
    """Its throttle counter rises by two with each look."""

    def __init__(self) -> None:
        super().__init__({COUNTER: "0"})
        self.looks = 0

    def read(self, path: str) -> bytes:
        if path == COUNTER:
            self.looks += 1
            return str(self.looks * 2).encode()
        return super().read(path)


def test_throttling_is_counted_by_change() -> None:
    throttling = readings(Warming())["processor.throttling"]
    assert (throttling.outcome, throttling.value) == (Outcome.FAILED, 2)


def test_no_counter_is_not_judged() -> None:
    assert readings(Files({}))["processor.throttling"].outcome is Outcome.NOT_JUDGED


def test_cores_the_kernel_has_not_started_are_said() -> None:
    items = list(cores.probe(context(Files({f"{cores.CPU}/offline": "4-7\n"}))))
    assert "Processor cores 4-7" in {getattr(item, "what", None) for item in items}


def test_without_the_load_it_is_not_judged(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cores, "MISSING", "No module named 'livecheck.native._load'")
    (reading,) = cores.probe(context(Files({})))
    assert isinstance(reading, Reading)
    assert reading.outcome is Outcome.NOT_JUDGED
