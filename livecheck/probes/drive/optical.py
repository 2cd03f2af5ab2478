"""Optical drives: tray and disc, and the reading of a disc that is in.

Without a disc nothing is known of the laser; a burned or scratched disc says little of
the drive, so a good pressed one is asked for.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from typing import Final

from livecheck.host import DiskHost, Host, TrayHost, Unreadable, number
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.control import StopRequest
from livecheck.probes.drive.read_drives import reading_test, source
from livecheck.probes.drive.read_figures import figures, lines
from livecheck.probes.drive.read_plan import ReadPlan, plan
from livecheck.probes.drive.read_test import ReadTest
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import NotTested, Part

MEDIUM: Final = "storage.medium"
READ: Final = "storage.disc-read"

NO_DISC, TRAY_OPEN, NOT_READY, DISC_IN = 1, 2, 3, 4
"""CDS_… of Linux ``include/uapi/linux/cdrom.h``; 0: the drive cannot tell."""

SOURCE: Final = "the drive's tray state and udev"
"""Where ``medium`` has its answer from."""

INSERT: Final = "insert a known-good pressed disc (burned and scratched ones say little)"

SAMPLES: Final = 48
RANDOM_READS: Final = 16
"""Fewer than of a disk: every far move takes an optical drive a fifth of a second or more
(common practice, no source)."""


def tray(host: Host, block: str) -> int | None:
    """CDROM_DRIVE_STATUS of a drive; None where it cannot be asked."""
    if not isinstance(host, TrayHost):
        return None
    try:
        return host.tray(f"/dev/{block}")
    except Unreadable:
        return None


def medium(host: Host, block: str) -> Finding:
    """Whether a disc is in; that alone is no fault."""
    state = tray(host, block)
    properties = next((d.properties for d in host.udev("block") if d.name == block), {})
    recognised = properties.get("ID_CDROM_MEDIA") == "1"
    if recognised or state == DISC_IN:
        says = "A disc is in and was recognised."
        return finding(MEDIUM, False, "disc", says)
    why, value = {
        NO_DISC: ("no disc is in", "no disc"),
        TRAY_OPEN: ("the tray is open", "tray open"),
        NOT_READY: ("the drive is still busy with its disc, or cannot read it", "not ready"),
    }.get(state or 0, ("no disc is in, or it was not recognised", "no disc"))
    return unjudged(MEDIUM, f"{why}: {INSERT}", value)


def probe(context: Context) -> Iterator[Yield]:
    """Read the disc in every optical drive, or say what is missing."""
    drives = [p for p in context.inventory.parts if p.kind == "optical-drive"]
    if not drives:
        return
    host = context.host
    if not isinstance(host, DiskHost) or not isinstance(host, TrayHost):
        yield NotTested(what="Reading a disc", why="this machine is a recording")
        return
    with StopRequest() as stop:
        for part in drives:
            yield from _part(context, host, part, lambda: stop.asked)


def _part(
    context: Context, host: DiskHost, part: Part, stopped: Callable[[], bool]
) -> Iterator[Yield]:
    block = part.block
    what = "Reading a disc"
    if block is None:
        yield NotTested(what=what, why="the drive offers nothing to read", at=part.id)
        return
    state = tray(context.host, block)
    if state != DISC_IN:
        words = {TRAY_OPEN: "the tray is open", NOT_READY: "the drive is not ready"}
        why = words.get(state or 0, "no disc is in")
        yield NotTested(what=what, why=f"{why}: {INSERT}", at=part.id)
        return
    # The size at hand may be that of the disc before; the kernel's is the present one.
    size = (number(context.host, f"/sys/class/block/{block}/size") or 0) * 512
    planned = disc_plan(size, context.depth)
    if not len(planned):
        why = f"the disc in it holds no data, or cannot be read at all: {INSERT}"
        yield NotTested(what=what, why=why, at=part.id)
        return
    try:
        descriptor = host.open_disk(f"/dev/{block}")
    except Unreadable as error:
        # A disc is in, and the drive cannot make sense of it.
        one = unjudged(READ, f"{error}: {INSERT}")
        yield one.reading(part.id, source(block), block)
        return
    test = reading_test(context, descriptor, block, planned, stopped)
    for progress in test.run({}):
        yield Progress(
            says=f"{part.name}: {progress.says}",
            done=progress.done,
            seconds_left=progress.seconds_left,
            paused=progress.paused,
        )
    if not test.stuck:
        os.close(descriptor)
    yield judge(test).reading(part.id, source(block), block)


def disc_plan(size: int, depth: str) -> ReadPlan:
    """What is read of a disc: samples of it, or everything."""
    whole = plan(size, depth)
    return ReadPlan(
        size=whole.size,
        length=whole.length,
        sampled=whole.sampled,
        samples=SAMPLES,
        random_reads=RANDOM_READS,
    )


def judge(test: ReadTest) -> Finding:
    """The finding of a disc's read test."""
    stats, found = test.stats, figures(test.stats)
    if test.gone:
        says = "The drive disappeared, or let its disc go, while it was read."
        return finding(READ, True, "disappeared", says)
    if stats.bad or test.dying or test.hung:
        says = (
            f"{len(stats.bad)} places of the disc could not be read"
            f"{f' ({test.ended})' if test.ended else ''}. With a pressed disc known to be good "
            "that is the drive; clean its lens, or try another disc first."
        )
        return finding(READ, True, stats.bad_bytes, says, "bytes").with_details(lines(found), found)
    if test.ended or not stats.requests:
        return unjudged(READ, test.ended or "there was nothing to read")
    what = "Samples over the whole disc" if test.plan.sampled else "The whole disc"
    speed = stats.bytes_per_second or 0.0
    says = f"{what} could be read, at {speed / 1e6:.1f} MB/s."
    return finding(READ, False, 0, says, "bytes").with_details(lines(found), found)
