"""The C kernel against the Python interpreter, and its edges.

The oracle of the operation order is livecheck.native.twin, whose fault
coverage test_coverage.py holds against the published table.
"""

from __future__ import annotations

import errno
import mmap
import random
import resource
import struct
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck.native import _march, twin
from livecheck.native.backgrounds import BACKGROUNDS, LINE, WORDS, splitmix64
from livecheck.native.engine import op_codes
from livecheck.native.notation import TESTS, MarchTest, Order, parse
from tests.native.test_notation import march_tests

LOG_ENTRY = struct.Struct(f"={1 + WORDS}Q")


@contextmanager
def buffer(size: int) -> Iterator[mmap.mmap]:
    with mmap.mmap(-1, size) as memory:
        yield memory


class LoggedLines:
    """Sound memory of 64-byte lines that writes down each operation."""

    def __init__(self, lines: int) -> None:
        self.lines = [(0,) * WORDS for _ in range(lines)]
        self.log: list[tuple[int, bool, tuple[int, ...]]] = []

    def read(self, index: int) -> tuple[int, ...]:
        self.log.append((index, False, self.lines[index]))
        return self.lines[index]

    def write(self, index: int, value: tuple[int, ...]) -> None:
        self.log.append((index, True, value))
        self.lines[index] = value


def kernel_log(
    test: MarchTest, lines: int, background: str, seed: int, down: bool, kernel: str, chunk: int
) -> list[tuple[int, bool, tuple[int, ...]]]:
    """Run the kernel in chunks over a small buffer and read back its log."""
    pattern = BACKGROUNDS[background]
    entries: list[tuple[int, bool, tuple[int, ...]]] = []
    with buffer(lines * LINE) as memory:
        for element in test.elements:
            descending = down if element.order is Order.ANY else element.order is Order.DOWN
            starts = list(range(0, lines, chunk))
            for first in reversed(starts) if descending else starts:
                count = min(chunk, lines - first)
                log = bytearray(count * len(element.ops) * LOG_ENTRY.size)
                bad = _march.march(
                    memory,
                    first,
                    count,
                    op_codes(element),
                    descending,
                    pattern.key,
                    pattern.packed(),
                    seed=seed,
                    kernel=kernel,
                    log=log,
                )
                assert bad == (0, [])
                for head, *words in LOG_ENTRY.iter_unpack(log):
                    entries.append((head >> 1, bool(head & 1), tuple(words)))
    return entries


@settings(max_examples=200, deadline=None)
@given(
    test=march_tests(max_ops=6),
    lines=st.integers(1, 24),
    background=st.sampled_from(sorted(BACKGROUNDS)),
    seed=st.integers(0, 2**64 - 1),
    down=st.booleans(),
    kernel=st.sampled_from(_march.kernels()),
    chunk=st.integers(1, 24),
)
def test_same_operations_as_the_interpreter(
    test: MarchTest, lines: int, background: str, seed: int, down: bool, kernel: str, chunk: int
) -> None:
    """Same lines, same order, same values: for random tests, chunks and backgrounds."""
    oracle = LoggedLines(lines)
    pattern = BACKGROUNDS[background]
    mismatches = list(
        twin.run(
            test.elements,
            oracle,
            lines,
            lambda index, bit: pattern.line(index, bit, seed),
            any_order=Order.DOWN if down else Order.UP,
        )
    )
    assert mismatches == []
    assert kernel_log(test, lines, background, seed, down, kernel, chunk) == oracle.log


@pytest.mark.parametrize("kernel", _march.kernels())
@pytest.mark.parametrize("name", TESTS)
def test_listed_tests_log_the_same(name: str, kernel: str) -> None:
    oracle = LoggedLines(9)
    pattern = BACKGROUNDS["random"]
    assert not list(twin.run(TESTS[name].elements, oracle, 9, lambda i, b: pattern.line(i, b, 7)))
    assert kernel_log(TESTS[name], 9, "random", 7, False, kernel, 4) == oracle.log


@pytest.mark.parametrize("kernel", _march.kernels())
@pytest.mark.parametrize("background", BACKGROUNDS)
def test_wrong_words_are_named_exactly(kernel: str, background: str) -> None:
    """Words spoilt between two elements come back with line, word, values; nothing else does."""
    rng = random.Random(5)
    pattern = BACKGROUNDS[background]
    write, read = parse("up(w1);down(r1)").elements
    for _ in range(50):
        with buffer(32 * LINE) as memory:
            args = (pattern.key, pattern.packed())
            _march.march(memory, 0, 32, op_codes(write), False, *args, seed=3, kernel=kernel)
            spoilt: dict[tuple[int, int], int] = {}
            for _ in range(rng.randint(1, 6)):
                spot = (rng.randrange(32), rng.randrange(WORDS))
                flip = 1 << rng.randrange(64)
                if spot in spoilt:
                    continue
                at = spot[0] * LINE + spot[1] * 8
                (held,) = struct.unpack_from("=Q", memory, at)
                struct.pack_into("=Q", memory, at, held ^ flip)
                spoilt[spot] = flip
            count, rows = _march.march(
                memory, 0, 32, op_codes(read), True, *args, seed=3, kernel=kernel
            )
        assert count == len(spoilt)
        assert {(line, word): want ^ got for line, word, _, want, got, _ in rows} == spoilt
        assert [row[0] for row in rows] == sorted((row[0] for row in rows), reverse=True)
        for line, word, op, want, got, again in rows:
            assert (op, again) == (0, got)
            assert want == pattern.line(line, 1, 3)[word]


def test_report_is_capped_but_counted() -> None:
    solid = BACKGROUNDS["solid"]
    with buffer(4096) as memory:
        args = (False, solid.key, solid.packed())
        count, rows = _march.march(memory, 0, 64, b"\x01", *args, limit=10)
        assert (count, len(rows)) == (512, 10)
        assert _march.march(memory, 0, 64, b"\x01", *args, limit=0) == (512, [])


def test_base_shifts_the_background() -> None:
    """Two buffers that continue each other hold different addresses and random values."""
    for name in ("address", "random", "checkerboard"):
        pattern = BACKGROUNDS[name]
        with buffer(4096) as memory:
            _march.march(memory, 0, 1, b"\x02", False, pattern.key, pattern.packed(), base=5)
            assert struct.unpack_from("=8Q", memory) == pattern.line(5, 0)


def test_splitmix64_known_values() -> None:
    """First outputs for seed 1234567 as published with the reference code (from memory)."""
    step = 0x9E3779B97F4A7C15
    assert step == 11400714819323198485
    inverse = pow(step, -1, 2**64)
    start = 1234567 * inverse % 2**64
    assert [splitmix64(start + n) for n in (1, 2)] == [6457827717110365317, 3203168211198807973]


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"first": 65}, "outside the buffer"),
        ({"lines": 65}, "outside the buffer"),
        ({"first": 2**63, "lines": 2**63}, "outside the buffer"),
        ({"ops": b""}, "1 to 16 operations"),
        ({"ops": b"\x00" * 17}, "1 to 16 operations"),
        ({"ops": b"\x04"}, "operation code 4"),
        ({"key": 4}, "key must be"),
        ({"key": -1}, "key must be"),
        ({"words": b"short"}, "words must be 64 bytes"),
        ({"kernel": "mmx"}, "kernel 'mmx' cannot run"),
        ({"log": bytearray(10)}, "the log needs"),
        ({"limit": 2**64 - 1}, None),
    ],
)
def test_refusals(change: dict[str, object], says: str | None) -> None:
    given: dict[str, object] = {
        "first": 0,
        "lines": 64,
        "ops": b"\x02",
        "down": False,
        "key": 0,
        "words": bytes(64),
    }
    with buffer(4096) as memory:
        expected = MemoryError if says is None else ValueError
        with pytest.raises(expected, match=says):
            _march.march(memory, **(given | change))  # type: ignore[arg-type]
        with pytest.raises(ValueError, match="begin on a 64-byte line"):
            _march.march(memoryview(memory)[8:], **given)  # type: ignore[arg-type]


def test_read_only_buffers_are_refused() -> None:
    with pytest.raises((TypeError, BufferError)):
        _march.march(bytes(64), 0, 1, b"\x02", False, 0, bytes(64))


def test_lock_keeps_pages_and_reports_refusal() -> None:
    """Locked pages show in VmLck (proc(5)); beyond RLIMIT_MEMLOCK the refusal is an OSError."""
    with buffer(1 << 16) as memory:
        _march.lock(memory)
        assert locked_kib() >= 64
        _march.unlock(memory)
    program = (
        "import mmap, os, resource\n"
        "from livecheck.native import _march\n"
        "resource.setrlimit(resource.RLIMIT_MEMLOCK, (4096, 4096))\n"
        "if os.getuid() == 0: os.setresuid(65534, 65534, 65534)\n"
        "try: _march.lock(mmap.mmap(-1, 1 << 20))\n"
        "except OSError as error: print(error.errno)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, timeout=60
    )
    assert int(done.stdout) in {errno.ENOMEM, errno.EPERM, errno.EAGAIN}
    assert resource.getrlimit(resource.RLIMIT_MEMLOCK)[1] != 4096


def locked_kib() -> int:
    with open("/proc/self/status", encoding="ascii") as status:  # noqa: PTH123
        return next(int(line.split()[1]) for line in status if line.startswith("VmLck"))


@pytest.mark.slow
def test_other_threads_run_meanwhile() -> None:
    """The interpreter lock is free while the kernel works."""
    solid = BACKGROUNDS["solid"]
    ticks = 0
    done = threading.Event()

    def work(memory: mmap.mmap) -> None:
        for _ in range(4):
            codes = op_codes(parse("up(w0,r0,w1,r1)").elements[0])
            _march.march(memory, 0, 1 << 18, codes, False, solid.key, solid.packed())
        done.set()

    with buffer(1 << 24) as memory:
        thread = threading.Thread(target=work, args=(memory,))
        thread.start()
        while not done.is_set():
            ticks += 1
        thread.join()
    assert ticks > 1000


def test_fresh_interpreters_import_it_twice() -> None:
    """Multi-phase initialisation: each module object is its own."""
    program = (
        "import sys\n"
        "from livecheck.native import _march as a\n"
        "del sys.modules['livecheck.native._march']\n"
        "import livecheck.native; del livecheck.native._march\n"
        "from livecheck.native import _march as b\n"
        "assert a is not b and a.kernels() == b.kernels()\n"
    )
    subprocess.run([sys.executable, "-c", program], check=True, timeout=60)
