"""Reads every drive, or samples of it, and times each read. Nothing is ever written.

The way to the drive is looked at before and after: a rise of its counters while
reading is present trouble, whatever the counts of a life were.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from typing import Final

import msgspec

from livecheck.host import DiskHost, Host, Unreadable, number
from livecheck.probes import Context, Yield
from livecheck.probes.control import StopRequest
from livecheck.probes.drive import link_watch
from livecheck.probes.drive.read_device import direct
from livecheck.probes.drive.read_findings import Limits, copy_advice, findings
from livecheck.probes.drive.read_plan import ALIGN, ReadPlan, plan
from livecheck.probes.drive.read_test import ReadTest, Surroundings
from livecheck.probes.finding import Finding
from livecheck.records import BlockFacts, NotTested, Part

WHAT: Final = "Reading the drive"


def probe(context: Context) -> Iterator[Yield]:
    """Readings of every drive that can be read."""
    host = context.host
    if not isinstance(host, DiskHost):
        yield NotTested(what="Reading the drives", why="this machine is a recording")
        return
    with StopRequest() as stop:
        for part in (p for p in context.inventory.parts if p.kind == "drive"):
            if stop.asked:
                yield NotTested(what=WHAT, why="stopped by the technician", at=part.id)
                continue
            yield from _part(context, host, part, lambda: stop.asked)


def _part(
    context: Context, host: DiskHost, part: Part, stopped: Callable[[], bool]
) -> Iterator[Yield]:
    block, size = part.block, part.size_bytes
    if block is None or not size:
        yield NotTested(what=WHAT, why="it offers nothing to read", at=part.id)
        return
    span = context.span
    if span is not None and span.drive not in (None, block):
        yield NotTested(what=WHAT, why=f"only {span.drive} was asked for", at=part.id)
        return
    before = link_watch.take(context, part, block)
    if before.failing and context.depth != "quick" and span is None:
        why = f"the drive says of itself that it is failing. {copy_advice(size, None)}"
        yield NotTested(what=f"{WHAT} whole", why=why, at=part.id)
        context = msgspec.structs.replace(context, depth="quick")
    planned = planned_for(context, size)
    if not len(planned):
        yield NotTested(what=WHAT, why="the range asked for lies beyond its end", at=part.id)
        return
    try:
        descriptor = host.open_disk(f"/dev/{block}")
    except Unreadable as error:
        hint = "" if context.host.facts().as_root else " (root may read it)"
        yield NotTested(what=WHAT, why=f"{error}{hint}", at=part.id)
        return
    test = reading_test(context, descriptor, block, planned, stopped)
    for progress in test.run(limits(context)["storage.read-stalls"]):
        yield msgspec.structs.replace(progress, says=f"{part.name}: {progress.says}")
    if not test.stuck:
        os.close(descriptor)
    for one in findings(test, limits(context), is_flash(context, part)):
        yield one.reading(part.id, source(block), block)
    if test.ended is None or not (test.stuck or test.gone or stopped()):
        for one in _links(context, part, block, before):
            yield one.reading(part.id, source(block), block, ("under load",))


def planned_for(context: Context, size: int) -> ReadPlan:
    """What is read of a drive of this size: the range asked for, or what the depth says."""
    span = context.span
    if span is None:
        return plan(size, context.depth)
    return plan(size, context.depth, span.start, max(0, span.end - span.start // ALIGN * ALIGN))


def reading_test(
    context: Context, descriptor: int, block: str, planned: ReadPlan, stopped: Callable[[], bool]
) -> ReadTest:
    """A test of an open drive."""
    return ReadTest(
        direct(descriptor),
        planned,
        context.depth if context.span is None else "full",
        Surroundings(
            sector=sector_bytes(context.host, block),
            gone=lambda: is_gone(context.host, block),
            control=context.control,
            stopped=stopped,
        ),
    )


def sector_bytes(host: Host, block: str) -> int:
    """Smallest piece a drive reads from its medium: 512 or 4096 on all in use."""
    found = number(host, f"/sys/class/block/{block}/queue/physical_block_size")
    return found if found in (512, 1024, 2048, 4096) else ALIGN


def is_gone(host: Host, block: str) -> bool:
    """Whether the kernel took the drive away, or left it without a size."""
    return not number(host, f"/sys/class/block/{block}/size")


def is_flash(context: Context, part: Part) -> bool:
    """Whether a drive has nothing that turns, as the kernel knows it.

    NVMe drives are taken for flash: the rotational ones of NVMe 2.0 are in no laptop
    (common practice, no source).
    """
    return part.nvme is not None or any(
        isinstance(d.facts, BlockFacts) and d.facts.rotational is False
        for d in context.inventory.devices
        if d.subsystem == "block" and d.name == part.block
    )


def limits(context: Context) -> Limits:
    """The limits of the check table for read tests."""
    names = ("storage.read-stalls", "storage.read-slow")
    checks = context.knowledge.checks
    return {name: checks[name].limits if name in checks else {} for name in names}


def _links(
    context: Context, part: Part, block: str, before: link_watch.LinkState
) -> tuple[Finding, ...]:
    after = link_watch.take(context, part, block)
    events = link_watch.new_events(context, part.id, before.newest)
    return (link_watch.change(before, after, events), *link_watch.slowed(before, after))


def source(block: str) -> str:
    """Where a read test has its readings from."""
    return f"reads of /dev/{block}"
