"""Memory, actively: march tests over all that can be had, and whose words went wrong.

It takes memory a block at a time, keeps a reserve for the system, gives memory
back when others need it, and says how much of what is installed it covered. A
test from a running system never sees all of it: not the kernel, not what is in
use; and it sees addresses, not cells, through interleaving, scrambling and any
error correction of the memory controller.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import Final

from livecheck.capture import CapturedHost
from livecheck.host import Host, number
from livecheck.inventory import smbios
from livecheck.native.messages import Snapshot
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.control import StopRequest
from livecheck.probes.memory import address_map, hardware_errors, headroom, march_plan
from livecheck.probes.memory.judge import MarchResult, judge
from livecheck.records import NotTested, Outcome, Reading

try:
    from livecheck.native.region import Budget
    from livecheck.native.worker import Follower, Job
except ImportError as error:
    MISSING: str | None = str(error)
else:
    MISSING = None

PLAIN: Final = 8e9
WAITING: Final = 4e8
"""Bytes a second to estimate with before anything was measured: a slow laptop (assumed)."""

HOT: Final = 85.0
"""°C from which wrong words are noted as found hot (common practice, no source)."""


def probe(context: Context) -> Iterator[Yield]:
    """Test the memory at the depth asked for; stopping keeps what was found."""
    yield from hardware_errors.early_test(context.host, context.events)
    if isinstance(context.host, CapturedHost):
        yield NotTested(what="Memory", why="a recorded machine cannot be loaded")
        return
    if MISSING is not None:
        yield Reading(
            check="memory.words",
            at="machine",
            outcome=Outcome.NOT_JUDGED,
            why_not="the compiled march kernel is missing from this installation "
            f"(install livecheck with a C compiler at hand): {MISSING}",
        )
        return
    yield from _test(context)


def _test(context: Context) -> Iterator[Yield]:
    host = context.host
    modules = address_map.build(context.inventory, smbios.tables(host))
    counts, since = hardware_errors.error_counts(host), hardware_errors.newest(host)
    before = headroom.measure(host)
    depth = march_plan.DEPTHS[context.depth]
    keep = headroom.reserve(before)
    size = max(0, before.available - keep)
    yield Progress(says=_plan_words(depth, size), done=0.0, seconds_left=_estimate(depth, size))
    job = Job(
        passes=depth.passes,
        budget=Budget(size, keep),
        cpus=tuple(sorted(os.sched_getaffinity(0))),
        seconds=depth.seconds,
        repeat=depth.repeat,
    )
    result = MarchResult(installed=context.inventory.machine.installed_memory_bytes, before=before)
    with StopRequest() as stop, Follower(job, lambda: headroom.measure(host).available) as follower:
        yield from _follow(follower, stop, depth, result, host)
        result.status = follower.status
    result.stopped = stop.asked
    yield from judge(result, modules)
    if not result.last.passes:
        return
    minutes = result.last.seconds / 60
    yield hardware_errors.counts_reading(counts, hardware_errors.error_counts(host), minutes)
    yield hardware_errors.machine_check_reading(
        "memory.machine-checks", hardware_errors.machine_checks(host, since)
    )
    if context.depth == "quick":
        yield NotTested(
            what="Memory faults that a read or a repeated write provokes",
            why="they take the longer tests of the full depth",
        )


def _follow(
    follower: Follower, stop: StopRequest, depth: march_plan.Depth, result: MarchResult, host: Host
) -> Iterator[Progress]:
    """Take the worker's snapshots until it ends, and ask it to end when we are asked."""
    told = -1.0
    for snapshot in follower.follow():
        if stop.asked:
            follower.stop()
        if snapshot is None:
            continue
        result.last = snapshot
        if snapshot.found:
            result.found.extend(snapshot.found)
            result.temperature = hottest(host)
            result.hot = result.hot or (result.temperature or 0.0) >= HOT
        if snapshot.seconds - told >= 1.0:
            told = snapshot.seconds
            yield _progress(snapshot, depth)


def _progress(snapshot: Snapshot, depth: march_plan.Depth) -> Progress:
    gib = snapshot.held / (1 << 30)
    wrong = f", {snapshot.wrong_words} wrong words" if snapshot.wrong_words else ""
    says = f"{gib:.1f} GiB, {snapshot.now or 'taking memory'}{wrong}"
    if snapshot.now is None:
        return Progress(says=says)
    whole = sum(todo.test.operations for todo in depth.passes) * max(snapshot.most, 1)
    by_time = snapshot.seconds / depth.seconds
    if depth.repeat:
        return Progress(says=says, done=min(1.0, by_time), seconds_left=_left(by_time, snapshot))
    # The waiting operations come last and cost most, so time left is by what is known of both.
    return Progress(says=says, done=min(1.0, max(snapshot.moved / whole, by_time)))


def _left(share: float, snapshot: Snapshot) -> float | None:
    return snapshot.seconds * (1 / share - 1) if share > 0 else None


def _estimate(depth: march_plan.Depth, size: int) -> float:
    return march_plan.estimate(depth, size, PLAIN, WAITING)


def _plan_words(depth: march_plan.Depth, size: int) -> str:
    minutes = max(1, round(_estimate(depth, size) / 60))
    names = ", ".join(dict.fromkeys(todo.test.name for todo in depth.passes))
    return (
        f"{size / (1 << 30):.1f} GiB in {len(depth.passes)} passes ({names}), "
        f"about {minutes} min at the most"
    )


def hottest(host: Host) -> float | None:
    """Highest of the kernel's thermal zones, °C; None when there is none."""
    zones = (n for n in host.names("/sys/class/thermal") if n.startswith("thermal_zone"))
    values = [number(host, f"/sys/class/thermal/{zone}/temp") for zone in zones]
    return max((value / 1000 for value in values if value is not None), default=None)
