"""Read test against dd: speed and processor time over the same range, in turns.

    python -m tests.benchmarks.storage [--device /dev/X] [--mib 1024] [--rounds 5] [--json]

Without a device it reads a loop device over a temporary file (root). Reference:
``dd iflag=direct bs=4M`` of GNU coreutils. Both ratios are medians over the rounds;
whoever goes first changes from round to round.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

READ = """
import sys
from livecheck.live_host import LiveHost
from livecheck.probes.drive import read_plan
from livecheck.probes.drive import read_test
from livecheck.probes.drive.read_device import direct
descriptor = LiveHost().open_disk(sys.argv[1])
planned = read_plan.plan(1 << 60, "full", 0, int(sys.argv[2]))
test = read_test.ReadTest(direct(descriptor), planned, "full")
print("ready", flush=True)
sys.stdin.readline()
list(test.run({"stall_s": 3.0}))
assert test.ended is None, test.ended
print(test.stats.bytes, flush=True)
"""


class Timed:
    """Seconds of clock and processor that one read took."""

    def __init__(self, wall: float, cpu: float) -> None:
        self.wall, self.cpu = wall, cpu


def _children_cpu() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def dd(device: str, mib: int) -> Timed:
    """One run of dd."""
    before, begun = _children_cpu(), time.monotonic()
    subprocess.run(
        ["dd", f"if={device}", "of=/dev/null", "bs=4M", f"count={mib // 4}", "iflag=direct"],
        check=True,
        capture_output=True,
    )
    return Timed(time.monotonic() - begun, _children_cpu() - before)


def ours(device: str, mib: int) -> Timed:
    """One run of the read test; loading Python is not counted, closing it is."""
    process = subprocess.Popen(
        [sys.executable, "-c", READ, device, str(mib << 20)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    loading = _cpu_of(process.pid)
    begun = time.monotonic()
    process.stdin.write("\n")
    process.stdin.flush()
    read = int(process.stdout.readline())
    wall = time.monotonic() - begun
    cpu = _cpu_of(process.pid) - loading
    process.communicate()
    assert read == mib << 20
    return Timed(wall, cpu)


def _cpu_of(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text("utf-8").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


@contextmanager
def loop(mib: int) -> Iterator[str]:
    """A loop device over a temporary file with something in it."""
    with tempfile.NamedTemporaryFile(dir="/var/tmp") as backing:
        block = os.urandom(4 << 20)
        for _ in range(0, mib, 4):
            backing.write(block)
        backing.flush()
        made = subprocess.run(
            ["losetup", "--find", "--show", "--direct-io=on", backing.name],
            capture_output=True,
            text=True,
            check=True,
        )
        try:
            yield made.stdout.strip()
        finally:
            subprocess.run(["losetup", "--detach", made.stdout.strip()], check=True)


def compare(device: str, mib: int, rounds: int) -> dict[str, float]:
    """Medians of the rounds: speed and processor time, ours over dd's."""
    speeds, cpus, mine = [], [], []
    dd(device, mib)
    for number in range(rounds):
        if number % 2:
            own, reference = ours(device, mib), dd(device, mib)
        else:
            reference, own = dd(device, mib), ours(device, mib)
        speeds.append(reference.wall / own.wall)
        cpus.append(own.cpu / reference.cpu)
        mine.append(mib / 1024 / own.wall)
    return {
        "read_over_dd": round(statistics.median(speeds), 3),
        "read_over_dd_worst": round(min(speeds), 3),
        "cpu_over_dd": round(statistics.median(cpus), 3),
        "gib_per_second": round(statistics.median(mine), 3),
        "rounds": rounds,
        "mib": mib,
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--device")
    parser.add_argument("--mib", type=int, default=1024)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    if asked.device:
        found = compare(asked.device, asked.mib, asked.rounds)
    else:
        with loop(asked.mib) as device:
            found = compare(device, asked.mib, asked.rounds)
    if asked.json:
        print(json.dumps(found))
        return
    for name, value in found.items():
        print(f"{name:20} {value}")


if __name__ == "__main__":
    main()
