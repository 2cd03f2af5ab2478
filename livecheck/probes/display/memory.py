"""The memory that pictures are made in, tested as main memory is: march tests over its words."""

from __future__ import annotations

import os
import re
import time
from collections.abc import Iterator
from typing import Final

from livecheck.capture import CapturedHost
from livecheck.host import UdevDevice
from livecheck.native.messages import WrongWord
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.control import StopRequest
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.probes.memory.march_plan import DEPTHS
from livecheck.records import NotTested, Value

try:
    from livecheck.native import dumb, engine
    from livecheck.native.region import Region
except ImportError as error:
    MISSING: str | None = str(error)
else:
    MISSING = None

CHECK: Final = "display.memory"
WHAT: Final = "Graphics memory"
WANTED: Final = {"quick": 64 << 20, "full": 512 << 20, "soak": 512 << 20}
"""Bytes asked of the driver."""
SECONDS: Final = {"quick": 60.0, "full": 600.0, "soak": 600.0}
SHOWN: Final = 16
"""Wrong words told with their address."""
MIB: Final = 1 << 20


def probe(context: Context) -> Iterator[Yield]:
    """A reading for each display device that gives memory."""
    if isinstance(context.host, CapturedHost):
        yield NotTested(what=WHAT, why="a recorded machine's memory cannot be written")
        return
    if MISSING is not None:
        yield NotTested(what=WHAT, why=f"the compiled memory test is missing: {MISSING}")
        return
    cards = [d for d in context.host.udev("drm") if re.fullmatch(r"card\d+", d.name)]
    if not cards:
        yield NotTested(what=WHAT, why="the kernel has no display device that gives memory")
    with StopRequest() as stop:
        for card in cards:
            yield Progress(says=f"asking {card.name} for memory")
            node = card.properties.get("DEVNAME", f"/dev/dri/{card.name}")
            found = _tested(context, node, stop)
            yield found.reading(owner(context, card), node, card.name)


def owner(context: Context, card: UdevDevice) -> str:
    """The graphics circuit that a card is of; else the machine as a whole."""
    above = [
        d for d in context.inventory.devices if d.component and card.path.startswith(f"{d.path}/")
    ]
    nearest = max(above, key=lambda d: len(d.path), default=None)
    return nearest.component if nearest is not None and nearest.component else "machine"


def _tested(context: Context, node: str, stop: StopRequest) -> Finding:
    try:
        with dumb.held(node, WANTED[context.depth]) as region:
            if not len(region):
                return unjudged(CHECK, region.refusal or "the driver gave no memory")
            return _march(context, region, stop)
    except OSError as error:
        return unjudged(CHECK, f"{node}: {error.strerror}")


def _march(context: Context, region: Region, stop: StopRequest) -> Finding:
    tally, size = engine.Tally(), len(region)
    until = time.monotonic() + SECONDS[context.depth]
    cpus = sorted(os.sched_getaffinity(0))
    for todo in DEPTHS[context.depth].passes:
        whole = engine.run_pass(
            region, todo, cpus, tally, lambda _: stop.asked or time.monotonic() > until
        )
        if not whole:
            break
    covered = f"{size / MIB:.0f} MiB that the driver gave"
    if not tally.passes and not tally.wrong_words:
        return unjudged(CHECK, f"ended before one pass over the {covered} was whole")
    details = (f"Tested: {covered}; what else the chip has was not reached.",
               *tally.passes, *(_line(word, region) for word in tally.wrong[:SHOWN]))  # fmt: skip
    bad: Value = tally.wrong_words
    says = f"{bad} wrong words in {covered}." if bad else f"Every word of the {covered} held."
    return finding(CHECK, tally.wrong_words > 0, bad, says, "errors").with_details(details)


def _line(word: WrongWord, region: Region) -> str:
    """Where a wrong word lies, counted over the buffers, and which bits of it."""
    start = 0
    for number, block in enumerate(region.blocks):
        if block.address <= word.address < block.address + len(block):
            at = start + word.address - block.address
            return (
                f"byte {at:#x} (buffer {number}): bits {word.flipped:#018x} wrong, "
                f"{word.test}, {word.background}"
            )
        start += len(block)
    return f"bits {word.flipped:#018x} wrong, {word.test}"
