"""A graphics chip under load: what is said of each way it can go, without a chip."""

from __future__ import annotations

import signal
from collections.abc import Iterator, Sequence

import msgspec
import pytest

from livecheck.graphics.messages import Beat, Begun, Broken, Doubted, Message, WrongImage
from livecheck.host import KernelMessage
from livecheck.probes import Context, Progress
from livecheck.probes.control import Control
from livecheck.probes.display import load
from livecheck.probes.display.load_judge import HANG, HOT, RESULTS
from livecheck.probes.display.scanout import CHECK, ScanOut
from livecheck.probes.heat import limits
from livecheck.records import Device, Inventory, Outcome
from tests.inventory.fake_host import FakeHost, attributes, device
from tests.probes.support import context, readings, untested

CHIP = "pci:0000:00:02.0"
GPU = "/sys/devices/pci0000:00/0000:00:02.0"
WRONG = WrongImage(kind="integers", seconds=1.0, words=1, first=(3, 8), last=(3, 8), expected=1,
                   got=5, ever=4, always=4)  # fmt: skip
BEGUN = Begun(renderer="a chip", version="3.1", software=False, kinds=("integers", "picture"))
GOOD = Beat(kind="integers", seconds=0.5)
BAD = Beat(kind="integers", seconds=1.0, wrong=WRONG)


class Scripted:
    """In the follower's place: says one thing a look, then ends, falls silent, or says on and on
    what counts as no result."""

    def __init__(
        self, said: Sequence[Message], status: int | None = None, silent: bool = False
    ) -> None:
        self._said, self._ends, self._silent = list(said), status, silent
        self.status: int | None = None
        self.signals: list[int] = []

    def __call__(self, node: str) -> Scripted:
        self.node = node
        return self

    def __enter__(self) -> Scripted:
        return self

    def __exit__(self, *_: object) -> None:
        return None

    def signal(self, number: int) -> None:
        self.signals.append(number)

    def heard(self, tick: float) -> Iterator[Message]:
        if self._said:
            yield self._said.pop(0)
        elif self._ends is not None:
            self.status = self._ends
        elif not self._silent:
            yield BEGUN


class Host(FakeHost):
    """Has one chip with a render node, and what the kernel said after the load began."""

    def __init__(self, *later: str) -> None:
        path = f"{GPU}/drm/renderD128"
        super().__init__(devices=[device("drm", "renderD128", path, DEVNAME="/dev/dri/renderD128")])
        self.later, self.asked = later, False

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        said = tuple(KernelMessage(9.0, 3, line) for line in self.later) if self.asked else ()
        self.asked = True
        return said


def _given(host: FakeHost, control: Control | None = None) -> Context:
    owner = Device(name="0000:00:02.0", subsystem="pci", path=GPU, component=CHIP)
    made = msgspec.structs.replace(context(host), inventory=Inventory(devices=(owner,)))
    return msgspec.structs.replace(made, control=control) if control else made


@pytest.fixture(autouse=True)
def _short(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(load, "SECONDS", dict.fromkeys(load.SECONDS, 1.0))
    monkeypatch.setattr(load, "LOOK_SECONDS", 0.0)


def _came(
    monkeypatch: pytest.MonkeyPatch,
    said: Sequence[Message],
    *,
    status: int | None = None,
    heat: Sequence[float] = (),
    host: Host | None = None,
    control: Control | None = None,
    silent: bool = False,
) -> dict[str, tuple[Outcome, str]]:
    degrees = iter(heat)
    last = heat[-1] if heat else None
    monkeypatch.setattr(limits, "hottest", lambda host, of="": next(degrees, last))
    monkeypatch.setattr(load, "ChipFollower", Scripted(said, status, silent))
    found = readings(load.probe, _given(host or Host(), control))
    assert all(r.at == CHIP for r in found.values())
    return {c: (r.outcome, r.why_not or r.says) for c, r in found.items()}


def test_a_sound_chip(monkeypatch: pytest.MonkeyPatch) -> None:
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 20], heat=[40.0] * 10 + [70.0])
    assert {c for c, (o, _) in found.items() if o is Outcome.PASSED} == {RESULTS, HOT, HANG}
    assert set(found) == {RESULTS, HOT, HANG, CHECK}


def test_wrong_only_hot(monkeypatch: pytest.MonkeyPatch) -> None:
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 9, *[BAD] * 3], heat=[40.0] * 11 + [70.0])
    assert found[HOT][0] is Outcome.FAILED and "70 °C" in found[HOT][1]
    assert found[RESULTS][0] is Outcome.PASSED and "before it got hot" in found[RESULTS][1]


def test_wrong_cold_says_nothing_of_heat(monkeypatch: pytest.MonkeyPatch) -> None:
    found = _came(monkeypatch, [BEGUN, BAD, *[GOOD] * 9, BAD], heat=[40.0] * 8 + [70.0])
    assert found[RESULTS] == (Outcome.FAILED, "2 of 11 results of the graphics chip were wrong.")
    assert found[HOT][0] is Outcome.NOT_JUDGED and "cold as well" in found[HOT][1]


def test_the_chips_own_sensor_counts_where_it_has_one() -> None:
    """hwmon below the chip's device, beside a processor that is hotter all the time."""
    host = Host()
    chip, other = f"{GPU}/hwmon/hwmon1", "/sys/devices/platform/coretemp.0/hwmon/hwmon2"
    host.devices += (device("hwmon", "hwmon1", chip), device("hwmon", "hwmon2", other))
    host.files |= attributes(chip, temp1_input=52_000) | attributes(other, temp1_input=81_000)
    assert (limits.hottest(host, GPU), limits.hottest(host)) == (52.0, 81.0)
    assert limits.hottest(host, "/sys/devices/pci0000:00/0000:00:0") is None


def test_without_a_sensor_heat_is_not_judged(monkeypatch: pytest.MonkeyPatch) -> None:
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 9, BAD])
    assert found[RESULTS][0] is Outcome.FAILED
    assert found[HOT] == (Outcome.NOT_JUDGED, "results were wrong cold as well, so heat is not "
                          "what brings them")  # fmt: skip
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 9])
    assert found[HOT] == (Outcome.NOT_JUDGED, "no sensor of this machine gives a temperature")


def test_the_heat_ends_it(monkeypatch: pytest.MonkeyPatch) -> None:
    looks = iter([None, None, None, "edge is at 96 °C; its limit is 100"])
    monkeypatch.setattr(limits, "too_hot", lambda _: next(looks, None))
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 9])
    assert found[RESULTS][0] is Outcome.NOT_JUDGED and "96 °C" in found[RESULTS][1]


def test_a_hot_machine_is_not_loaded_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "too_hot", lambda _: "edge is at 98 °C; its limit is 100")
    assert "98 °C" in untested(load.probe, _given(Host()))[load.WHAT]


def test_silence_is_a_hang(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(load, "SILENCE", 0.3)
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 8], silent=True)
    assert found[HANG][0] is Outcome.FAILED and "no result came" in found[HANG][1]
    assert found[RESULTS][0] is Outcome.PASSED


def test_a_hang_shortly_before_the_end_is_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its time is over before its silence has lasted long enough."""
    monkeypatch.setattr(load, "SILENCE", 2.0)
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 8], silent=True)
    assert found[HANG][0] is Outcome.FAILED


def test_a_chip_that_hangs_is_not_asked_for_frames_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Opening the kernel's file waits for the chip (``crtc_crc_open`` takes its lock)."""
    looks: list[str] = []
    monkeypatch.setattr(ScanOut, "look", lambda _, when, stopped: looks.append(when))
    monkeypatch.setattr(load, "SILENCE", 0.3)
    _came(monkeypatch, [BEGUN, *[GOOD] * 8], silent=True)
    assert looks == ["before the load"]
    monkeypatch.setattr(load, "SILENCE", 25.0)
    _came(monkeypatch, [BEGUN, *[GOOD] * 8])
    assert looks == ["before the load", "before the load", "after the load"]


def test_refused_work_is_no_hang(monkeypatch: pytest.MonkeyPatch) -> None:
    refused = Broken(says="the driver refused the work (OpenGL error 0x505)")
    found = _came(monkeypatch, [BEGUN, GOOD, refused], status=0)
    assert {o for o, _ in found.values()} == {Outcome.NOT_JUDGED}
    assert "0x505" in found[RESULTS][1]


def test_a_reset_is_a_hang(monkeypatch: pytest.MonkeyPatch) -> None:
    lost = Broken(says="the chip was reset while it worked", lost=True)
    assert _came(monkeypatch, [BEGUN, GOOD, lost], status=0)[HANG][0] is Outcome.FAILED


@pytest.mark.parametrize(
    "line",
    [
        # Linux 6.12, drivers/gpu/drm/i915/i915_gpu_error.c and amdgpu_job.c
        "i915 0000:00:02.0: [drm] GPU HANG: ecode 12:1:85dffffb, in python3 [1234]",
        "amdgpu 0000:00:02.0: amdgpu: ring gfx_0.0.0 timeout, signaled seq=10, emitted seq=12",
    ],
)
def test_the_kernel_tells_of_a_hang(monkeypatch: pytest.MonkeyPatch, line: str) -> None:
    """The driver's process ended by itself, and the kernel's line says why."""
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 9], status=-6, host=Host(line))
    assert found[HANG][0] is Outcome.FAILED and "hung" in found[HANG][1]


def test_a_dead_driver_alone_accuses_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    other = "usb 1-4: device descriptor read/64, error -71"
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 9], status=-6, host=Host(other))
    assert found[HANG][0] is Outcome.NOT_JUDGED and "SIGABRT" in found[HANG][1]


def test_a_processor_that_doubts_itself_is_no_reference(monkeypatch: pytest.MonkeyPatch) -> None:
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 9, Doubted()])
    assert found[RESULTS][0] is Outcome.NOT_JUDGED and "processor" in found[RESULTS][1]


def test_no_driver_of_its_own_is_not_tested(monkeypatch: pytest.MonkeyPatch) -> None:
    by_processor = Begun(renderer="llvmpipe", version="3.1", software=True)
    monkeypatch.setattr(load, "ChipFollower", Scripted([by_processor]))
    assert "llvmpipe would stand in" in untested(load.probe, _given(Host()))[load.WHAT]
    monkeypatch.setattr(load, "ChipFollower", Scripted([Broken(says="its driver has no 3.0")]))
    assert untested(load.probe, _given(Host())) == {load.WHAT: "its driver has no 3.0"}
    assert "no driver here" in untested(load.probe, _given(FakeHost()))[load.WHAT]


class Asked(Control):
    """A technician who pauses for some looks, or skips."""

    def __init__(self, pauses: int = 0, skip_at: int | None = None) -> None:
        self._pauses, self._looks, self._skip_at = pauses, 0, skip_at

    def paused(self) -> bool:
        self._pauses -= 1
        return self._pauses >= 0

    def skip(self) -> bool:
        self._looks += 1
        return self._looks == self._skip_at


def test_a_skip_is_heard_and_passes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    found = _came(monkeypatch, [BEGUN, *[GOOD] * 20], control=Asked(skip_at=12))
    assert {o for o, _ in found.values()} == {Outcome.NOT_JUDGED}
    assert "skipped by the technician" in found[RESULTS][1]


def test_a_pause_stops_the_work_and_costs_no_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(load, "LOOK_SECONDS", 0.4)
    monkeypatch.setattr(load, "SILENCE", 0.6)
    script = Scripted([BEGUN, *[GOOD] * 500_000])
    monkeypatch.setattr(load, "ChipFollower", script)
    found = list(load.probe(_given(Host(), Asked(pauses=3))))
    assert [p.paused for p in found if isinstance(p, Progress)].count(True) >= 2
    assert script.signals == [signal.SIGSTOP, signal.SIGCONT]
