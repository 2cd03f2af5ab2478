"""How the last start ended, told from its record and from what is left of it.

Outside sources: the kernel's own lines (drivers/acpi/apei/bert.c, mce/core.c, panic.c of
Linux 6.12, from memory unless quoted in the kernel's documentation); _BST's critical state
and cell datasheets for what an empty battery is. The judgement is the table's.
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck import knowledge
from livecheck.recorder.aftermath import Aftermath, Panic, look
from livecheck.recorder.ending import ASLEEP, ending, slope
from livecheck.recorder.judge import ALONE, CHECKS, cause, judge
from livecheck.recorder.lines import Closing, LastMessage
from livecheck.records import HowEnded, Inventory, Outcome, Part, Place
from tests.inventory.fake_host import FakeHost
from tests.recorder.machines import NEXT, record

KNOWN = knowledge.load()
LIMITS = KNOWN.checks["ended.cool"].limits
LAST_WALL = 1_772_000_059.0
PANIC = Panic(name="dmesg-ramoops-0", says="Kernel panic - not syncing: sysrq triggered crash")
MCE = Panic(name="dmesg-efi-1", says="Kernel panic - not syncing: Fatal machine check")
BERT = "[Hardware Error]: event severity: fatal"
TRIP = LastMessage(
    seconds=158.0,
    priority=0,
    text="thermal thermal_zone0: acpitz: critical temperature reached, shutting down",
)
INVENTORY = Inventory(
    places=(Place(id="jack:AC", kind="power-jack", name="jack"),),
    parts=(
        Part(id="cooling@cooling", kind="cooling", name="cooling", place="cooling"),
        Part(id="adapter@jack:AC", kind="adapter", name="adapter", place="jack:AC"),
    ),
)


def later(minutes: float = 30.0, **more: object) -> Aftermath:
    """The next start, so long after the last line."""
    return Aftermath(boot=NEXT, up_since=LAST_WALL + 60 * minutes, **more)  # type: ignore[arg-type]


def rising(t: int) -> float:
    return 60.0 + 0.63 * t


CASES = {
    "cool": (record(), later()),
    "hot and rising": (record(heat=rising), later()),
    "hot and flat": (record(heat=lambda t: 97.0), later()),
    "adapter lost, no battery": (
        record(adapter=lambda t: float(t < 57), charge=lambda t: None, volts=lambda t: None),
        later(),
    ),
    "no battery, off at once": (
        record(charge=lambda t: None, volts=lambda t: None, status=lambda t: None),
        later(),
    ),
    "battery empty behind the adapter": (record(charge=lambda t: 0.0), later()),
    "collapsed on battery": (
        record(adapter=lambda t: float(t < 50), status=lambda t: -1.0 if t >= 50 else 2.0,
               volts=lambda t: 12.1 if t < 50 else 11.0 - 0.1 * (t - 50)),
        later(),
    ),
    "ran empty": (record(adapter=lambda t: 0.0, charge=lambda t: 3.0), later()),
    "crash": (record(), later(0.1, panics=(PANIC,))),
    "crash that lay there before": (record(panics=(PANIC.name,)), later(panics=(PANIC,))),
    "machine check": (record(), later(0.1, panics=(MCE,))),
    "boot error record": (record(), later(hardware=(BERT,))),
    "reset by itself": (record(), later(0.1)),
    "kernel's critical trip": (
        record(heat=rising, told=(TRIP,), closing=Closing(seconds=160.0, how="asked")),
        later(),
    ),
    "shut down in order": (record(closing=Closing(seconds=160.0, how="asked")), later()),
}  # fmt: skip

NAMES = {
    "cool": "cool",
    "hot and rising": "heat",
    "hot and flat": "heat",
    "adapter lost, no battery": "supply",
    "no battery, off at once": "supply",
    "battery empty behind the adapter": "supply",
    "collapsed on battery": "battery",
    "ran empty": "empty",
    "crash": "panic",
    "crash that lay there before": "cool",
    "machine check": "hardware",
    "boot error record": "hardware",
    "reset by itself": "restart",
    "kernel's critical trip": "heat",
    "shut down in order": "asked",
}


@pytest.mark.parametrize("name", CASES)
def test_ends_are_told_apart(name: str) -> None:
    recorded, after = CASES[name]
    end = ending(recorded, after)
    assert end is not None
    assert cause(end, LIMITS).name == NAMES[name]


@pytest.mark.parametrize("name", CASES)
def test_one_cause_at_most(name: str) -> None:
    """At most one failed check, each of the table; no cause: not tested, with the reason."""
    recorded, after = CASES[name]
    readings, missed = judge(ending(recorded, after), INVENTORY, KNOWN, "case/runs/0001")
    failed = [r.check for r in readings if r.outcome is Outcome.FAILED]
    assert {r.check for r in readings} <= set(CHECKS.values()) <= set(KNOWN.checks)
    expected = CHECKS.get(NAMES[name])
    assert failed == ([expected] if expected else [])
    assert bool(missed) == (expected is None)


def test_what_is_ruled_out_is_a_passed_check() -> None:
    """Cool, fed, a charged battery: cooling and adapter are cleared, at their own parts."""
    readings, _ = judge(ending(*CASES["cool"]), INVENTORY, KNOWN, "here")
    assert {(r.check, r.at, r.outcome) for r in readings} == {
        ("ended.cool", "machine", Outcome.FAILED),
        ("ended.hot", "cooling@cooling", Outcome.PASSED),
        ("ended.supply", "adapter@jack:AC", Outcome.PASSED),
    }
    assert "under load" in readings[0].conditions and "cool" in readings[0].conditions
    # A battery that cannot carry clears nothing.
    readings, _ = judge(ending(*CASES["battery empty behind the adapter"]), INVENTORY, KNOWN, "")
    assert {r.check for r in readings if r.outcome is Outcome.PASSED} == {"ended.hot"}


@pytest.mark.parametrize("name", ["cool", "reset by itself", "adapter lost, no battery"])
def test_what_the_bench_saw_of_it(name: str) -> None:
    """Nobody touched it: the check that allows for no hand; somebody did: no fault at all."""
    end = ending(*CASES[name])
    alone, _ = judge(end, INVENTORY, KNOWN, "", HowEnded.BY_ITSELF)
    assert [r.check for r in alone if r.outcome is Outcome.FAILED] == [ALONE[NAMES[name]]]
    assert KNOWN.checks[ALONE[NAMES[name]]].event
    by_hand, missed = judge(end, INVENTORY, KNOWN, "", HowEnded.BY_HAND)
    assert not [r for r in by_hand if r.outcome is Outcome.FAILED]
    assert "Somebody switched it off" in missed[0].why


def test_slope() -> None:
    """Against numpy.polyfit."""
    numpy = pytest.importorskip("numpy", reason="no numpy")
    course = [(t * 1.1, 40 + 0.7 * t + (t % 3)) for t in range(20)]
    expected = numpy.polyfit([t for t, _ in course], [v for _, v in course], 1)[0]
    assert slope(course) == pytest.approx(expected)
    assert slope(course[:2]) == 0.0


def test_nothing_whole() -> None:
    readings, missed = judge(ending(record(0), later()), INVENTORY, KNOWN, "")
    assert not readings and "whole" in missed[0].why


def test_no_sensor_says_so() -> None:
    """A machine without meters: the end is known, its cause is not."""
    blind = record(heat=lambda t: None, adapter=lambda t: None, charge=lambda t: None,
                   volts=lambda t: None, status=lambda t: None, load=lambda t: None)  # fmt: skip
    readings, missed = judge(ending(blind, later()), INVENTORY, KNOWN, "")
    assert not readings and "no sensor" in missed[0].why


@pytest.mark.parametrize(
    ("files", "says"),
    [
        (
            {"/sys/fs/pstore/dmesg-ramoops-0": "Panic#1 Part1\n<4>[ 71.2] sysrq: Trigger a crash\n"
             "<0>[   71.2] Kernel panic - not syncing: sysrq triggered crash\n<4>[   71.2] CPU: 0"},
            "Kernel panic - not syncing: sysrq triggered crash",
        ),
        (
            {"/sys/fs/pstore/dmesg-efi-170": "Oops#1 Part1\n<4>[ 9.1] RIP: 0010:foo+0x1/0x2\n"},
            "Oops#1 Part1",
        ),
        (
            {"/var/lib/systemd/pstore/1/dmesg.txt": "<0>[1.0] BUG: unable to handle page fault"},
            "BUG: unable to handle page fault",
        ),
        ({"/sys/fs/pstore/console-ramoops-0": "[    1.0] usb 1-1: new device\n"}, None),
    ],
)  # fmt: skip
def test_crash_records_are_read(files: dict[str, str], says: str | None) -> None:
    """Layout of pstore's files: Documentation/admin-guide/ramoops.rst."""
    found = look(FakeHost(files)).panics
    assert [p.says for p in found] == ([says] if says else [])


def test_start_of_the_kernel_by_the_clock() -> None:
    """/proc/uptime (proc(5)): 100 s up at 10:00:00 UTC is a start at 09:58:20."""
    found = look(FakeHost({"/proc/uptime": "100.00 50.00\n"}))
    assert found.up_since == pytest.approx(1_772_359_200 - 100)


def test_a_machine_that_was_put_to_sleep_and_did_not_wake_is_told() -> None:
    """Its record ends there, whatever the clock says of the time since; nothing else is named."""
    slept = record()
    samples = tuple(msgspec.structs.replace(one, step=ASLEEP) for one in slept.samples)
    for after in (later(), later(0.1)):
        end = ending(msgspec.structs.replace(slept, samples=samples), after)
        readings, missed = judge(end, INVENTORY, KNOWN, "here")
        failed = [one.check for one in readings if one.outcome is Outcome.FAILED]
        assert (failed, missed) == (["sleep.wakes"], ())
