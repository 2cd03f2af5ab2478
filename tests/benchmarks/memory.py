"""How near the march kernel comes to what memory can do.

    python -m tests.benchmarks.memory [--json] [--rounds N] [--size MIB] [--growth]

What is compared, and why that is fair:

- A march element that only writes, ⇕(w0), sends every byte to memory once.
  So does a non-temporal fill. ``over_fill`` is the ratio of bytes a second.
- A march element that reads and writes, ⇑(r0,w1) and ⇓(r1,w0), moves every
  byte twice: in and out. A copy from one half of a buffer to the other moves
  every byte once: in, or out. Both are counted by bytes that cross, so the
  mix is the same, half reads and half writes; a cached copy's extra read of
  its target is not counted in its favour. ``over_copy`` is the ratio of bytes
  a second against the *fastest*, by median, of the plain loop and its
  non-temporal variants at each vector width.

Both sides write data that is not zero: measured on Zen 4, lines of zeros are
written at two to three times the speed of any other data, so a fill or a march
with zeros would not measure memory.

The march side runs through the engine as the probe does: chunks, Python
threads, comparison of every word, address order. The limits are C loops,
compiled here with the extension's flags, one call a core on its own share.
Rounds are paired (limit, march, limit, march ...), and the medians of the
rounds' ratios are printed, because other work on the machine comes and goes.
"""

from __future__ import annotations

import argparse
import ctypes
import json
import math
import os
import shlex
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path

from livecheck.native import _march
from livecheck.native.backgrounds import BACKGROUNDS
from livecheck.native.engine import Tally, pin, run_pass
from livecheck.native.messages import Pass
from livecheck.native.notation import TESTS, Element, MarchTest, Op, Order
from livecheck.native.region import Region

ROOT = Path(__file__).parents[2]

Loop = Callable[[int, int, int], None]


def compile_streams(folder: Path) -> ctypes.CDLL:
    """Compile streams.c with the flags pyproject.toml gives the march kernel."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    modules = project["tool"]["setuptools"]["ext-modules"]
    flags = next(m for m in modules if m["name"].endswith("_march"))["extra-compile-args"]
    library = folder / "streams.so"
    compiler = shlex.split(os.environ.get("CC", "cc"))
    source = Path(__file__).with_name("streams.c")
    subprocess.run([*compiler, *flags, "-shared", "-fPIC", source, "-o", library], check=True)
    return ctypes.CDLL(str(library))


def loops(library: ctypes.CDLL, kind: str) -> dict[str, Loop]:
    """The fill or copy loops this processor can run, by name."""
    names = [f"{kind}_{kernel}" for kernel in _march.kernels()]
    if kind == "copy":
        names.append("copy_loop")
    found: dict[str, Loop] = {}
    for name in names:
        function = getattr(library, name)
        function.argtypes = (ctypes.c_void_p, ctypes.c_void_p, ctypes.c_size_t)
        function.restype = None
        found[name] = function
    return found


def on_each(cpus: Sequence[int], work: Callable[[int], None]) -> float:
    """Seconds until ``work(n)`` is done on every core, started together."""
    ready = threading.Barrier(len(cpus) + 1)

    def body(number: int, cpu: int) -> None:
        pin(cpu)
        ready.wait()
        work(number)

    threads = [threading.Thread(target=body, args=pair) for pair in enumerate(cpus)]
    for thread in threads:
        thread.start()
    ready.wait()
    started = time.perf_counter()
    for thread in threads:
        thread.join()
    return time.perf_counter() - started


def limits(
    kind: dict[str, Loop], region: Region, cpus: Sequence[int], copy: bool
) -> dict[str, float]:
    """Bytes a second of each loop, each core on its own share of the region."""
    address, size = region.blocks[0].address, len(region)
    share = size // len(cpus) // 4096 * 4096
    length = share // 2 if copy else share

    def run(loop: Loop) -> float:
        seconds = on_each(
            cpus,
            lambda n: loop(address + n * share, address + n * share + share // 2, length),
        )
        return share * len(cpus) / seconds

    return {name: run(loop) for name, loop in kind.items()}


def best(rows: Sequence[dict[str, float]]) -> str:
    """The loop with the best median. Best of each round would count luck as speed."""
    return max(rows[0], key=lambda name: statistics.median(row[name] for row in rows))


def march_seconds(region: Region, elements: tuple[Element, ...], cpus: Sequence[int]) -> float:
    """Seconds the engine needs for the elements; fails when sound memory is reported."""
    test = MarchTest("benchmark", elements, "benchmark")
    tally = Tally()
    started = time.perf_counter()
    whole = run_pass(
        region, Pass(1, test, BACKGROUNDS["column stripes"]), cpus, tally, lambda _: False
    )
    seconds = time.perf_counter() - started
    if not whole or tally.wrong_words:
        raise SystemExit(f"the memory of this machine is not sound: {tally.wrong[:3]}")
    return seconds


WRITE = (Element(Order.ANY, (Op(True, 0),)),)
READ_WRITE = (
    Element(Order.UP, (Op(False, 0), Op(True, 1))),
    Element(Order.DOWN, (Op(False, 1), Op(True, 0))),
)


def compare(
    library: ctypes.CDLL, region: Region, cpus: Sequence[int], rounds: int
) -> dict[str, float]:
    """Median ratios and bytes a second over paired rounds."""
    fills, copies = loops(library, "fill"), loops(library, "copy")
    size = len(region)
    fill_rows: list[dict[str, float]] = []
    copy_rows: list[dict[str, float]] = []
    written: list[float] = []
    both: list[float] = []
    for _ in range(rounds):
        fill_rows.append(limits(fills, region, cpus, copy=False))
        written.append(size / march_seconds(region, WRITE, cpus))
        copy_rows.append(limits(copies, region, cpus, copy=True))
        march_seconds(region, WRITE, cpus)
        both.append(4 * size / march_seconds(region, READ_WRITE, cpus))
    fill = [row[best(fill_rows)] for row in fill_rows]
    copy = [row[best(copy_rows)] for row in copy_rows]
    over_fill = [mine / theirs for mine, theirs in zip(written, fill, strict=True)]
    over_copy = [mine / theirs for mine, theirs in zip(both, copy, strict=True)]
    return {
        "over_fill": statistics.median(over_fill),
        "over_copy": statistics.median(over_copy),
        "fill_bytes_per_second": statistics.median(fill),
        "march_write_bytes_per_second": statistics.median(written),
        "copy_bytes_per_second": statistics.median(copy),
        "march_read_write_bytes_per_second": statistics.median(both),
        "worst_over_fill": min(over_fill),
        "worst_over_copy": min(over_copy),
    }


def region_of(size: int) -> Region:
    region = Region()
    if not region.grow(size):
        raise SystemExit(f"{size >> 20} MiB: {region.refusal} (try --size with less)")
    march_seconds(region, WRITE, sorted(os.sched_getaffinity(0)))
    return region


def growth(cpus: Sequence[int]) -> list[dict[str, float]]:
    """Seconds of a whole March C- by size, 64 MiB to 8 GiB: medians of 3 to 32 runs."""
    rows = []
    for shift in range(26, 34):
        region = region_of(1 << shift)
        seconds = statistics.median(
            march_seconds(region, TESTS["March C-"].elements, cpus)
            for _ in range(max(3, (1 << 31) >> shift))
        )
        region.close()
        rows.append(
            {
                "bytes": 1 << shift,
                "seconds": seconds,
                "seconds_per_gib": seconds / (1 << shift) * (1 << 30),
            }
        )
    return rows


def main() -> None:
    parser = argparse.ArgumentParser(description="March kernel against fill and copy.")
    parser.add_argument("--json", action="store_true", help="figures only, as JSON")
    parser.add_argument("--rounds", type=int, default=9)
    parser.add_argument("--size", type=int, default=1024, help="MiB under test")
    parser.add_argument("--growth", action="store_true", help="also time 64 MiB to 8 GiB")
    chosen = parser.parse_args()
    cpus = sorted(os.sched_getaffinity(0))
    result: dict[str, object] = {"kernel": _march.kernels()[-1], "cores": len(cpus)}
    region = region_of(chosen.size << 20)
    with tempfile.TemporaryDirectory() as folder:
        library = compile_streams(Path(folder))
        result["one_core"] = compare(library, region, cpus[:1], chosen.rounds)
        result["all_cores"] = compare(library, region, cpus, chosen.rounds)
    region.close()
    if chosen.growth:
        rows = growth(cpus)
        result["growth"] = rows
        result["growth_exponent"] = statistics.linear_regression(
            [math.log(row["bytes"]) for row in rows], [math.log(row["seconds"]) for row in rows]
        ).slope
    if chosen.json:
        json.dump(result, sys.stdout, indent=2)
        print()
    else:
        show(result)


def show(result: dict[str, object]) -> None:
    print(f"kernel {result['kernel']}, {result['cores']} cores")
    for where in ("one_core", "all_cores"):
        row = result[where]
        assert isinstance(row, dict)
        print(f"{where}")
        for what in ("fill", "copy"):
            march = row[f"march_{'write' if what == 'fill' else 'read_write'}_bytes_per_second"]
            print(
                f"  over_{what}  {row[f'over_{what}']:.3f}"
                f"   march {march / 1e9:6.2f} GB/s"
                f"   {what} {row[f'{what}_bytes_per_second'] / 1e9:6.2f} GB/s"
                f"   worst round {row[f'worst_over_{what}']:.3f}"
            )
    rows = result.get("growth", [])
    assert isinstance(rows, list)
    for line in rows:
        print(
            f"{line['bytes'] >> 20:6d} MiB  {line['seconds']:8.3f} s"
            f"  {line['seconds_per_gib']:.3f} s/GiB"
        )
    if rows:
        print(f"time grows with size to the power {result['growth_exponent']:.3f}")


if __name__ == "__main__":
    main()
