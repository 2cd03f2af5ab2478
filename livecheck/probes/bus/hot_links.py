"""Links and media read twice, cold and hot, and compared: errors only when hot point at the board.

The link of a panel is one of them, by the symbol errors that the panel itself counts.

Hot means: while every core works on the self-checking load. The load ends before the
machine's own temperature limits (``heat.limits``). Nothing is written to any drive.
"""

from __future__ import annotations

import contextlib
import os
import threading
import time
from collections.abc import Callable, Iterator
from typing import Final

import msgspec

from livecheck.capture import CapturedHost
from livecheck.displayport import LinkWatch
from livecheck.host import DiskHost, Unreadable
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.bus import pcie
from livecheck.probes.bus.hot_judge import LINK, MIN_RISE, Pair, Phase, Target, judge
from livecheck.probes.control import StopRequest
from livecheck.probes.display import panel
from livecheck.probes.drive import link_watch, read_drives
from livecheck.probes.drive.read_plan import plan
from livecheck.probes.heat import limits
from livecheck.records import Device, NotTested, Part

try:
    from livecheck.native import load
except ImportError as error:
    MISSING: str | None = str(error)
else:
    MISSING = None

READ_SECONDS: Final = {"quick": 10.0, "full": 60.0, "soak": 120.0}
"""Each drive is read for so long, cold and again hot."""
WARM_SECONDS: Final = {"quick": 60.0, "full": 300.0, "soak": 600.0}
"""Load before the second reading."""
STEP: Final = 0.5

WHAT: Final = "Links cold and hot"


class BackgroundLoad:
    """The load in the background, and why it ended early."""

    def __init__(self, context: Context, stopped: Callable[[], bool]) -> None:
        self._host, self._stopped = context.host, stopped
        self._over = threading.Event()
        self.ended: str | None = None
        self._looked = 0.0
        self._thread = threading.Thread(target=self._work, daemon=True, name="load")

    def __enter__(self) -> BackgroundLoad:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join(timeout=5)

    def _work(self) -> None:
        cores = sorted(os.sched_getaffinity(0))
        turn = 0
        while not self._over.is_set():
            load.run(cores, 2.0, lambda *_: self._end(), turn=turn)
            turn += 1

    def _end(self) -> bool:
        now = time.monotonic()
        if now - self._looked >= STEP:
            self._looked = now
            hot = limits.too_hot(self._host)
            if hot is not None:
                self.ended = hot
                self._over.set()
        if self._stopped():
            self._over.set()
        return self._over.is_set()


def probe(context: Context) -> Iterator[Yield]:
    """A reading for each drive and link whose errors can be counted, of the cold and hot pair."""
    host = context.host
    if isinstance(host, CapturedHost) or not isinstance(host, DiskHost):
        yield NotTested(what=WHAT, why="a recorded machine cannot be loaded")
        return
    if MISSING is not None:
        yield NotTested(what=WHAT, why=f"the compiled load is missing: {MISSING}")
        return
    hot = limits.too_hot(context.host)
    if hot is not None:
        yield NotTested(what=WHAT, why=f"too hot to be loaded already: {hot}")
        return
    with StopRequest() as stop:
        yield from _pair(context, host, lambda: stop.asked)


def _pair(context: Context, host: DiskHost, stopped: Callable[[], bool]) -> Iterator[Yield]:
    targets = _targets(context)
    if not targets:
        yield NotTested(what=WHAT, why="no drive and no link here whose errors can be counted")
        return
    work = _Counting(context, host, targets, stopped)
    cold, hot = Phase(), Phase()
    yield from work.phase(cold, "cold")
    with BackgroundLoad(context, stopped) as warmth:
        yield from warm_up(context, warmth, stopped)
        yield from work.phase(hot, "hot")
        hot.celsius = limits.hottest(context.host)
    if stopped():
        yield NotTested(what=WHAT, why="stopped by the technician before the pair was whole")
        return
    check = context.knowledge.checks.get(LINK)
    rise = check.limits.get("rise_k", MIN_RISE) if check else MIN_RISE
    pair = Pair(cold=cold, hot=hot, ended=warmth.ended, rise=rise)
    for target in targets:
        yield from judge(target, pair)


def _targets(context: Context) -> tuple[Target, ...]:
    """Drives that can be read, panels, and other parts on links that count errors."""
    found = []
    devices = {d.name: d for d in context.inventory.devices if d.subsystem == "pci"}
    for part in context.inventory.parts:
        block = part.block
        if part.kind == "drive" and block is not None and part.size_bytes:
            found.append(Target(part=part.id, name=part.name, block=block))
        elif part.kind == "panel" and (channel := panel.channel_of(context, part)) is not None:
            found.append(Target(part=part.id, name=part.name, channel=channel.name))
        elif _counts(context, part, devices):
            found.append(Target(part=part.id, name=part.name))
    return tuple(found)


def _errors(screen: LinkWatch) -> int | None:
    """Symbol errors of a panel's link, once they are more than a sound link may have."""
    screen.look()
    return screen.errors if screen.too_many() is not False else 0


def _counts(context: Context, part: Part, devices: dict[str, Device]) -> bool:
    ends = link_watch.pcie_ends(context, part)
    return ends is not None and any(pcie.read_end(context.host, one).counted for one in ends)


def warm_up(
    context: Context, warmth: BackgroundLoad, stopped: Callable[[], bool]
) -> Iterator[Progress]:
    """Let the load work for the depth's time, or until it ends or is stopped."""
    whole = WARM_SECONDS[context.depth]
    begun = time.monotonic()
    while (gone := time.monotonic() - begun) < whole and warmth.ended is None and not stopped():
        heat = limits.hottest(context.host)
        at = f", {heat:.0f} °C" if heat is not None else ""
        says = f"warming up{at}"
        yield Progress(says=says, done=0.3 + 0.4 * gone / whole, seconds_left=whole - gone)
        time.sleep(STEP)


class _Counting:
    """Reading all targets for a while, and counting."""

    def __init__(
        self,
        context: Context,
        host: DiskHost,
        targets: tuple[Target, ...],
        stopped: Callable[[], bool],
    ) -> None:
        self._context, self._host = context, host
        self._targets, self._stopped = targets, stopped
        self._parts = {part.id: part for part in context.inventory.parts}

    def phase(self, phase: Phase, name: str) -> Iterator[Progress]:
        """Read every drive for a while, and note by how much the error counts rose."""
        context, targets = self._context, self._targets
        phase.celsius = limits.hottest(context.host)
        before = {t.part: self._link(t) for t in targets if t.channel is None}
        screens = {t.part: LinkWatch(context.host, t.channel) for t in targets if t.channel}
        for screen in screens.values():
            # A drive may be read until the time is over: the counts need two looks.
            screen.look()
        begun = time.monotonic()
        for target in targets:
            if target.block is not None and not self._stopped():
                yield Progress(says=f"{name}: reading {target.name}")
                yield from self._read(target, target.block, phase)
        # Both readings last the same, or errors that come now and then would favour the longer.
        whole = READ_SECONDS[context.depth] * max(1, sum(t.block is not None for t in targets))
        while (left := begun + whole - time.monotonic()) > 0 and not self._stopped():
            yield Progress(says=f"{name}: watching the links", seconds_left=left)
            for screen in screens.values():
                screen.look()
            time.sleep(min(STEP, left))
        phase.seconds = time.monotonic() - begun
        phase.links |= {part: _errors(screen) for part, screen in screens.items()}
        for target in (t for t in targets if t.channel is None):
            earlier, now = before[target.part], self._link(target)
            events = link_watch.new_events(context, target.part, earlier.newest)
            risen = link_watch.rise(earlier, now)
            phase.links[target.part] = max(risen or 0, len(events)) if events else risen

    def _link(self, target: Target) -> link_watch.LinkState:
        return link_watch.take(self._context, self._parts[target.part], target.block or "")

    def _read(self, target: Target, block: str, phase: Phase) -> Iterator[Progress]:
        size = self._parts[target.part].size_bytes
        if size is None:
            return
        try:
            descriptor = self._host.open_disk(f"/dev/{block}")
        except Unreadable:
            return
        until = time.monotonic() + READ_SECONDS[self._context.depth]
        quick = msgspec.structs.replace(self._context, depth="quick", span=None)
        test = read_drives.reading_test(
            quick,
            descriptor,
            block,
            plan(size, "quick"),
            lambda: self._stopped() or time.monotonic() > until,
        )
        yield from test.run({})
        if not test.stuck:
            with contextlib.suppress(OSError):
                os.close(descriptor)
        if test.stats.requests or test.stats.bad:
            phase.media[target.part] = len(test.stats.bad) + test.hung + test.gone
            phase.bytes[target.part] = test.stats.bytes
