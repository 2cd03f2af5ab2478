"""Faults put into the memory from outside while the kernel runs, and sound memory.

The fault is a bit flipped by another process through /proc/<pid>/mem (proc(5)),
which the kernel under test cannot see coming. It is put ahead of the line the
test has reached, so it persists until the test reads there.
"""

from __future__ import annotations

import random
import struct
import subprocess
import sys
import threading
from collections.abc import Iterator

import pytest

from livecheck.native import pagemap
from livecheck.native.backgrounds import BACKGROUNDS, LINE
from livecheck.native.engine import Tally, run_pass
from livecheck.native.messages import Pass
from livecheck.native.notation import TESTS, parse
from livecheck.native.region import Region

pytestmark = pytest.mark.slow

FLIPPER = """
import os, struct, sys
memory = os.open(f"/proc/{os.getppid()}/mem", os.O_RDWR)
for line in sys.stdin:
    address, bits = map(int, line.split())
    (held,) = struct.unpack("=Q", os.pread(memory, 8, address))
    os.pwrite(memory, struct.pack("=Q", held ^ bits), address)
    print("done", flush=True)
"""


@pytest.fixture
def flipper() -> Iterator[subprocess.Popen[str]]:
    process = subprocess.Popen(
        [sys.executable, "-c", FLIPPER], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    yield process
    process.communicate(timeout=10)


def flip(process: subprocess.Popen[str], address: int, bits: int) -> None:
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(f"{address} {bits}\n")
    process.stdin.flush()
    assert process.stdout.readline() == "done\n"


def test_bits_flipped_by_another_process_are_caught(flipper: subprocess.Popen[str]) -> None:
    """100 of 100, each with its address and its bits, and nothing besides."""
    rng = random.Random(11)
    region = Region()
    assert region.grow(64 << 20)
    cpus = [0]
    caught = 0
    try:
        for number in range(100):
            background = BACKGROUNDS[rng.choice(sorted(BACKGROUNDS))]
            # Waits for every write: slow enough that the flip lands while it runs.
            todo = Pass(number, parse("up(w0);up(r0,w1,r1);up(r1)"), background, seed=number)
            # In the last quarter of the region, which an upward element reaches last.
            offset = rng.randrange(3 * len(region) // 4, len(region)) // 8 * 8
            address = region.blocks[0].address + offset
            bits = 1 << rng.randrange(64)
            tally = Tally()
            lines = len(region) // LINE
            flipped = threading.Event()

            def watch(
                tally: Tally,
                address: int = address,
                bits: int = bits,
                lines: int = lines,
                flipped: threading.Event = flipped,
            ) -> bool:
                running = tally.line_ops < lines + 3 * lines // 2
                if tally.elements_done == 1 and running and not flipped.is_set():
                    flip(flipper, address, bits)
                    flipped.set()
                return False

            assert run_pass(region, todo, cpus, tally, watch)
            assert flipped.is_set(), "the element was over before a flip could land"
            found = {(wrong.address, wrong.flipped) for wrong in tally.wrong}
            caught += found == {(address, bits)}
            assert all(wrong.cpu == 0 and wrong.element == 1 for wrong in tally.wrong)
            assert all(wrong.again == wrong.read for wrong in tally.wrong)
    finally:
        region.close()
    assert caught == 100


def test_a_fault_beyond_the_kept_words_is_still_counted() -> None:
    region = Region()
    assert region.grow(1 << 20)
    tally = Tally()
    run_pass(region, Pass(1, parse("up(w0)"), BACKGROUNDS["solid"]), [0], tally, lambda _: False)
    block = region.blocks[0]
    block.memory[:] = b"\xff" * len(block)
    wrong = parse("up(w0);up(r0)").elements[1:]
    todo = Pass(2, parse("up(w0)"), BACKGROUNDS["solid"])
    run_pass(
        region,
        Pass(2, type(todo.test)("read only", wrong, "test"), BACKGROUNDS["solid"]),
        [0],
        tally,
        lambda _: False,
    )
    region.close()
    assert tally.wrong_words == (1 << 20) // 8
    assert 0 < len(tally.wrong) <= 4096


@pytest.mark.parametrize("background", BACKGROUNDS)
def test_sound_memory_is_never_reported(background: str) -> None:
    region = Region()
    assert region.grow(32 << 20)
    tally = Tally()
    for number, name in enumerate(TESTS):
        assert run_pass(
            region,
            Pass(number, TESTS[name], BACKGROUNDS[background], seed=number),
            [0, 1],
            tally,
            lambda _: False,
        )
    region.close()
    assert (tally.wrong_words, tally.wrong) == (0, [])
    assert len(tally.passes) == len(TESTS)
    ops = sum(test.operations for test in TESTS.values())
    assert tally.bytes_moved == ops * (32 << 20)


def test_fifty_passes_over_two_gibibytes_report_nothing() -> None:
    region = Region()
    assert region.grow(2 << 30)
    tally = Tally()
    names = sorted(BACKGROUNDS)
    for number in range(50):
        background = BACKGROUNDS[names[number % len(names)]]
        todo = Pass(number, TESTS["March C-"], background, seed=number)
        assert run_pass(region, todo, [0, 1], tally, lambda _: False)
    region.close()
    assert (tally.wrong_words, len(tally.passes)) == (0, 50)


def test_physical_addresses() -> None:
    """Two mappings of one page have one frame; other pages have others (proc pagemap.rst)."""
    region = Region()
    assert region.grow(4 << 20)
    block = region.blocks[0]
    first = pagemap.physical(block.address)
    if first is None:
        pytest.skip("the kernel shows frame numbers only with CAP_SYS_ADMIN")
    assert pagemap.physical(block.address + 123) == first + 123
    pages = {pagemap.physical(block.address + n) for n in range(0, 4 << 20, 4096)}
    assert len(pages) == 1024
    assert None not in pages
    # The frame's own flags say that it is an anonymous page in use (bits 12 and 5 of
    # kpageflags: ANON, LRU, or 18 UNEVICTABLE for a locked one).
    with open("/proc/kpageflags", "rb", buffering=0) as flags:  # noqa: PTH123
        flags.seek(first // 4096 * 8)
        (bits,) = struct.unpack("=Q", flags.read(8))
    assert bits >> 12 & 1, f"{bits:#x}"
    region.close()


def test_no_physical_address_without_the_right() -> None:
    program = (
        "import os, mmap, sys\n"
        "from livecheck.native import _march, pagemap\n"
        "os.setresuid(65534, 65534, 65534)\n"
        "m = mmap.mmap(-1, 4096); m[0] = 1\n"
        "assert pagemap.physical(_march.address(m)) is None\n"
        "assert pagemap.physical(1 << 60) is None\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True, timeout=60)
