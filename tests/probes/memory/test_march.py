"""The memory probe: what it covers, whose words it names, and how it ends."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator, Sequence

import msgspec
import pytest

from livecheck import knowledge
from livecheck.host import KernelMessage
from livecheck.inventory.smbios_types import MappedRange, MemoryDevice, Tables
from livecheck.native import twin
from livecheck.native.backgrounds import BACKGROUNDS, LINE
from livecheck.native.messages import LocatedWord, Snapshot, WrongWord
from livecheck.native.notation import TESTS
from livecheck.probes import Context, Progress
from livecheck.probes.memory import hardware_errors, headroom, march, march_plan
from livecheck.probes.memory.address_map import MemoryMap, build
from livecheck.probes.memory.fault_pattern import read
from livecheck.probes.memory.headroom import Headroom
from livecheck.probes.memory.judge import MarchResult, judge
from livecheck.records import Inventory, NotTested, Outcome, Part, Reading
from tests.probes.memory.hosts import Files

GIB = 1 << 30
MIB = 1 << 20


# --- Modules by address


def module(number: int, size: int = 4 * GIB) -> Part:
    return Part(
        id=f"memory-module@dimm:SLOT {number}",
        kind="memory-module",
        name="4 GiB",
        place=f"dimm:SLOT {number}",
        size_bytes=size,
    )


def tables(ranges: Sequence[tuple[int, int, int]]) -> Tables:
    """Two devices of 4 GiB with handles 1 and 2; ranges as (first, last, handle)."""
    return Tables(
        memory=tuple(
            MemoryDevice(handle=n, locator=f"SLOT {n}", size_bytes=4 * GIB) for n in (1, 2)
        ),
        device_ranges=tuple(
            MappedRange(handle=10 + i, first=first, last=last, owner=owner)
            for i, (first, last, owner) in enumerate(ranges)
        ),
    )


TWO = Inventory(parts=(module(1), module(2)))
APART = tables([(0, 4 * GIB - 1, 1), (4 * GIB, 8 * GIB - 1, 2)])
OVERLAPPING = tables([(0, 8 * GIB - 1, 1), (0, 8 * GIB - 1, 2)])


def test_modules_with_ranges_of_their_own_are_told_apart() -> None:
    """DSP0134 7.21: each memory device mapped address names its device."""
    found = build(TWO, APART)
    assert found.modules_at(4 * GIB - 8) == ("memory-module@dimm:SLOT 1",)
    assert found.modules_at(4 * GIB) == ("memory-module@dimm:SLOT 2",)
    assert found.modules_at(None) == found.modules
    assert found.separates


def test_interleaved_modules_are_one_of_these() -> None:
    found = build(TWO, OVERLAPPING)
    assert len(found.modules_at(1 * GIB)) == 2
    assert not found.separates


@pytest.mark.parametrize(
    ("table", "says"),
    [
        (None, "gives no address range"),
        (tables([]), "gives no address range"),
        (tables([(0, 4 * GIB - 1, 1)]), "for some modules only"),
        (tables([(0, GIB - 1, 1), (4 * GIB, 8 * GIB - 1, 2)]), "do not fit the sizes"),
    ],
)
def test_tables_that_do_not_add_up_are_not_believed(table: Tables | None, says: str) -> None:
    found = build(TWO, table)
    assert says in found.says
    assert found.modules_at(0) == found.modules


def test_the_only_module_needs_no_table() -> None:
    found = build(Inventory(parts=(module(1),)), None)
    assert found.modules_at(None) == ("memory-module@dimm:SLOT 1",)


def test_where_nothing_names_a_module_the_memory_as_a_whole_is_named() -> None:
    assert build(Inventory(), None).modules_at(5) == ()


# --- Patterns


class FaultyLines:
    """64-byte lines with a stuck data bit, or an address line that does not switch."""

    def __init__(self, lines: int, *, stuck: tuple[int, int] | None = None, dead: int = 0) -> None:
        self.lines: list[tuple[int, ...]] = [(0,) * 8 for _ in range(lines)]
        self.stuck = stuck
        self.dead = dead

    def read(self, index: int) -> tuple[int, ...]:
        held = self.lines[index & ~self.dead]
        if self.stuck is None:
            return held
        bit, value = self.stuck
        mask = 1 << bit
        return tuple(word | mask if value else word & ~mask for word in held)

    def write(self, index: int, value: tuple[int, ...]) -> None:
        self.lines[index & ~self.dead] = value


def march_c(memory: FaultyLines, backgrounds: Sequence[str], base: int = 0) -> list[LocatedWord]:
    """Run March C- with our interpreter and list the wrong words as the worker does."""
    found = []
    for name in backgrounds:
        pattern = BACKGROUNDS[name]
        for miss in twin.run(TESTS["March C-"].elements, memory, len(memory.lines), pattern.line):
            for word in range(8):
                if miss.expected[word] == miss.read[word]:
                    continue
                offset = miss.index * LINE + word * 8
                wrong = WrongWord(
                    address=offset,
                    expected=miss.expected[word],
                    read=miss.read[word],
                    again=miss.again[word],
                    test="March C-",
                    background=name,
                    pass_number=1,
                    element=miss.element,
                    operation=miss.op,
                    cpu=0,
                    seconds=1.0,
                )
                found.append(LocatedWord(wrong=wrong, physical=base + offset, offset=offset))
    return found


EVERY = sorted(BACKGROUNDS)


@pytest.mark.parametrize("bit", [0, 9, 37, 63])
@pytest.mark.parametrize("value", [0, 1])
def test_a_bit_stuck_in_every_module_is_no_modules_fault(bit: int, value: int) -> None:
    """The same bit in both modules, and never mistaken for an address line."""
    lines = 64
    low = march_c(FaultyLines(lines, stuck=(bit, value)), EVERY)
    high = march_c(FaultyLines(lines, stuck=(bit, value)), EVERY, base=4 * GIB)
    pattern = read([*low, *high], build(TWO, APART), lines * LINE)
    assert pattern.bits == (bit,)
    assert pattern.lanes == (bit // 8,)
    assert pattern.same_bits_everywhere is True
    assert pattern.address_bits == ()


def test_wrong_words_in_one_module_alone_name_it() -> None:
    found = march_c(FaultyLines(64, stuck=(5, 1)), EVERY, base=4 * GIB)
    pattern = read(found, build(TWO, APART), 64 * LINE)
    assert pattern.per_module == {"memory-module@dimm:SLOT 2": (5,)}
    assert pattern.same_bits_everywhere is None
    assert pattern.near


def test_different_bits_in_different_modules_are_no_shared_line() -> None:
    low = march_c(FaultyLines(64, stuck=(5, 1)), EVERY)
    high = march_c(FaultyLines(64, stuck=(40, 1)), EVERY, base=4 * GIB)
    assert read([*low, *high], build(TWO, APART), 64 * LINE).same_bits_everywhere is False


@pytest.mark.parametrize("line", [1, 2, 8, 32])
def test_an_address_line_that_does_not_switch_is_recognised(line: int) -> None:
    found = march_c(FaultyLines(64, dead=line), EVERY)
    pattern = read(found, build(TWO, None), 64 * LINE)
    assert pattern.address_bits == ((line * LINE).bit_length() - 1,)
    assert pattern.unsure == len(found)


# --- Judging


def judged(result: MarchResult, modules: MemoryMap) -> tuple[dict[str, Reading], list[NotTested]]:
    items = list(judge(result, modules))
    readings = {item.check: item for item in items if isinstance(item, Reading)}
    return readings, [item for item in items if isinstance(item, NotTested)]


def result(**changes: object) -> MarchResult:
    last = Snapshot(
        held=6 * GIB,
        most=6 * GIB,
        locked=True,
        moved=60 * GIB,
        passes=("March C-, address",),
        kernel="sse2",
        seconds=12.0,
        finished=True,
    )
    start = MarchResult(installed=8 * GIB, before=Headroom(7 * GIB, 6 * GIB), last=last, status=0)
    return msgspec.structs.replace(start, **changes)


def with_last(**changes: object) -> MarchResult:
    return result(last=msgspec.structs.replace(result().last, **changes))


def test_sound_memory_passes_and_says_what_it_did_not_see() -> None:
    readings, gaps = judged(result(), build(TWO, APART))
    assert readings["memory.words"].outcome is Outcome.PASSED
    assert set(readings) == {"memory.words"}
    assert "covered 6.0 GiB of 8.0 GiB installed (75 %)" in readings["memory.words"].details
    assert "kernel sse2" in readings["memory.words"].source
    assert [gap.what for gap in gaps] == ["2.0 GiB of the memory"]
    assert "1.0 GiB of that are kept by firmware" in gaps[0].why


def test_wrong_words_fail_with_addresses_and_bits() -> None:
    found = march_c(FaultyLines(64, stuck=(5, 1)), ["solid"], base=4 * GIB)
    start = with_last(wrong_words=len(found))
    start = msgspec.structs.replace(start, found=found, temperature=71.0)
    readings, _ = judged(start, build(TWO, APART))
    words = readings["memory.words"]
    assert (words.outcome, words.value) == (Outcome.FAILED, len(found))
    line = next(text for text in words.details if text.startswith("physical"))
    assert "0x0100000000" in line
    assert "differs in 0000000000000020" in line
    assert "71 °C" in line
    assert readings["memory.module-words"].at == "memory-module@dimm:SLOT 2"
    assert readings["memory.same-bits"].outcome is Outcome.NOT_JUDGED
    assert readings["memory.address-line"].outcome is Outcome.PASSED


def test_interleaved_says_one_of_these() -> None:
    found = march_c(FaultyLines(64, stuck=(5, 1)), ["solid"])
    start = msgspec.structs.replace(with_last(wrong_words=len(found)), found=found)
    readings, gaps = judged(start, build(TWO, OVERLAPPING))
    assert "memory.module-words" not in readings
    why = next(gap.why for gap in gaps if gap.what.startswith("Which memory module"))
    assert "one of these: memory-module@dimm:SLOT 1, memory-module@dimm:SLOT 2" in why


@pytest.mark.parametrize(
    ("start", "outcome", "says"),
    [
        (result(stopped=True), Outcome.PASSED, "Stopped by the technician after 12 s"),
        (result(status=-signal.SIGKILL), Outcome.PASSED, "killed by SIGKILL"),
        (result(status=-signal.SIGBUS), Outcome.FAILED, "reported a word"),
        (with_last(passes=(), finished=False), Outcome.NOT_JUDGED, "No pass"),
        (with_last(moved=0, refusal="no room"), Outcome.NOT_JUDGED, ""),
    ],
)
def test_every_ending_leaves_a_reading(start: MarchResult, outcome: Outcome, says: str) -> None:
    readings, _ = judged(start, build(TWO, APART))
    assert readings["memory.words"].outcome is outcome
    assert says.lower() in readings["memory.words"].says.lower()
    if outcome is Outcome.NOT_JUDGED:
        assert readings["memory.words"].why_not


def test_repeated_passes_are_counted() -> None:
    readings, _ = judged(with_last(passes=("March C-, solid",) * 700), build(TWO, APART))
    assert readings["memory.words"].details[-1] == "March C-, solid: 700 times"


def test_unlocked_memory_is_said() -> None:
    start = with_last(locked=False, refusal="could not be locked: Operation not permitted")
    readings, gaps = judged(start, build(TWO, APART))
    assert any("not locked" in line for line in readings["memory.words"].details)
    assert "could not be locked" in gaps[0].why


# --- Headroom, counters, start-up test


def test_headroom_heeds_control_groups() -> None:
    """The least headroom of the group and those above (admin-guide/cgroup-v2.rst)."""
    files = {
        "/proc/meminfo": "MemTotal: 8000000 kB\nMemAvailable: 6000000 kB\n",
        "/proc/self/cgroup": "0::/a/b\n",
        "/sys/fs/cgroup/a/memory.max": str(500 * MIB),
        "/sys/fs/cgroup/a/memory.current": str(300 * MIB),
        "/sys/fs/cgroup/a/memory.stat": f"anon 1\ninactive_file {50 * MIB}\n",
        "/sys/fs/cgroup/a/b/memory.max": "max",
        "/sys/fs/cgroup/a/b/memory.current": "5",
    }
    found = headroom.measure(Files(files))
    assert (found.available, found.limited_by) == (250 * MIB, "the limit of a control group")
    assert headroom.reserve(found) == 256 * MIB
    free = headroom.measure(Files({"/proc/meminfo": files["/proc/meminfo"]}))
    assert (free.available, free.limited_by) == (6000000 * 1024, None)


def test_only_errors_counted_meanwhile_fail() -> None:
    """Files of Documentation/admin-guide/RAS/main.rst."""
    folder = f"{hardware_errors.EDAC}/mc0/dimm0"
    names = ("dimm_label", "dimm_ce_count", "dimm_ue_count")
    before = Files({f"{folder}/{n}": v for n, v in zip(names, ("A", "7", "0"), strict=True)})
    after = Files({f"{folder}/{n}": v for n, v in zip(names, ("A", "9", "1"), strict=True)})
    one, two = hardware_errors.error_counts(before), hardware_errors.error_counts(after)
    assert hardware_errors.counts_reading(one, one, 1).outcome is Outcome.PASSED
    risen = hardware_errors.counts_reading(one, two, 1)
    assert (risen.outcome, risen.value) == (Outcome.FAILED, 3)
    assert hardware_errors.counts_reading({}, {}, 1).outcome is Outcome.NOT_JUDGED


@pytest.mark.parametrize(
    "line",
    [
        "  5555555555555555 bad mem addr 0x0000000012345000 - 0x0000000012345008 reserved",
        "  5555555555555555 bad mem addr 0012345000 - 0012345008 reserved",
    ],
)
def test_the_kernels_own_test_at_start_is_read(line: str) -> None:
    """The two spellings of the kernel's mm/memtest.c (older: plain %010llx)."""
    head = KernelMessage(seconds=0, priority=6, text="early_memtest: # of tests: 17")
    bad = KernelMessage(seconds=0, priority=6, text=line)
    (reading,) = hardware_errors.early_test(Files({}, [head, bad]), ())
    assert isinstance(reading, Reading)
    assert (reading.outcome, reading.value) == (Outcome.FAILED, 8)
    assert reading.details == ("0x12345000 to 0x12345008",)
    (clean,) = hardware_errors.early_test(Files({}, [head]), ())
    assert isinstance(clean, Reading)
    assert clean.outcome is Outcome.PASSED
    (absent,) = hardware_errors.early_test(Files({}), ())
    assert isinstance(absent, NotTested)


def test_only_machine_checks_of_the_test_count() -> None:
    lines = [
        KernelMessage(seconds=5, priority=3, text="mce: [Hardware Error]: old"),
        KernelMessage(seconds=50, priority=3, text="mce: [Hardware Error]: new"),
        KernelMessage(seconds=51, priority=6, text="mce: CPU supports 9 MCE banks"),
    ]
    found = hardware_errors.machine_checks(Files({}, lines), 10)
    assert found == ("mce: [Hardware Error]: new",)
    reading = hardware_errors.machine_check_reading("memory.machine-checks", found)
    assert reading.outcome is Outcome.FAILED


# --- The plan and the probe itself


def test_plain_operations_of_known_tests() -> None:
    """By hand: in March C- nothing waits; in March SS only w0, and the first read, do not."""
    assert march_plan.plain_operations(TESTS["March C-"]) == 10
    assert march_plan.plain_operations(TESTS["March Y"]) == 6
    for depth in march_plan.DEPTHS.values():
        assert march_plan.estimate(depth, 16 * GIB, 8e9, 4e8) <= depth.seconds


def context(files: Files, depth: str = "quick") -> Context:
    return Context(
        host=files,
        inventory=TWO,
        events=(),
        knowledge=knowledge.load(),
        depth=depth,
    )


SMALL = Files(
    {"/proc/meminfo": f"MemTotal: {1024 * 1024} kB\nMemAvailable: {(256 + 64) * 1024} kB\n"}
)
"""A machine with 64 MiB above the reserve."""


def run_probe(depth: str = "quick") -> Iterator[object]:
    return march.probe(context(SMALL, depth))


def test_the_probe_tests_the_memory_it_can_have() -> None:
    items = list(run_probe())
    words = next(i for i in items if isinstance(i, Reading) and i.check == "memory.words")
    assert words.outcome is Outcome.PASSED
    assert "covered 64 MiB of 1.0 GiB" in words.details[0]
    assert any(isinstance(i, Progress) and "64 MiB" not in i.says for i in items)
    checks = {i.check for i in items if isinstance(i, Reading)}
    assert {"memory.error-counts", "memory.machine-checks"} <= checks


@pytest.mark.slow
def test_a_stop_of_the_probe_leaves_what_was_covered() -> None:
    """The runner sends SIGTERM; the soak would last for hours."""
    timer = threading.Timer(3.0, os.kill, (os.getpid(), signal.SIGTERM))
    timer.start()
    items = list(run_probe("soak"))
    timer.join()
    words = next(i for i in items if isinstance(i, Reading) and i.check == "memory.words")
    assert "topped by the technician" in words.says
    assert any(line.startswith("covered") for line in words.details)


def test_without_the_kernel_it_is_not_judged(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(march, "MISSING", "No module named 'livecheck.native._march'")
    items = [i for i in run_probe() if isinstance(i, Reading)]
    assert [(i.check, i.outcome) for i in items] == [("memory.words", Outcome.NOT_JUDGED)]
    assert "C compiler" in (items[0].why_not or "")
