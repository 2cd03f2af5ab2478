"""Each graphics chip under a load that checks itself, with the heat watched."""

from __future__ import annotations

import re
import signal
import time
from collections.abc import Generator, Iterator
from typing import Final

from livecheck import kernel_log
from livecheck.capture import CapturedHost
from livecheck.graphics.messages import Beat, Begun, Broken, Doubted, Message
from livecheck.host import UdevDevice
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.control import StopRequest
from livecheck.probes.display import load_judge
from livecheck.probes.display.load_judge import ChipTrial, judged
from livecheck.probes.display.memory import owner
from livecheck.probes.display.scanout import FOLDER, ScanOut
from livecheck.probes.heat import limits
from livecheck.probes.memory import hardware_errors
from livecheck.records import KernelEvent, NotTested

try:
    from livecheck.graphics.worker import ChipFollower
except ImportError as error:
    MISSING: str | None = str(error)
else:
    MISSING = None

WHAT: Final = "Graphics chip under load"
SECONDS: Final = {"quick": 60.0, "full": 600.0, "soak": 600.0}
SILENCE: Final = 25.0
"""Seconds without a result after which a chip hangs: longer than drivers give one task (Linux,
i915 ``DRM_I915_REQUEST_TIMEOUT``: 20; amdgpu ``lockup_timeout``: 10, from memory)."""
AT_START: Final = 60.0
"""The same until the first result: drivers wake the chip, load its firmware, compile."""
LOOK_SECONDS: Final = 0.5
"""Between two looks at the sensors."""
TICK: Final = 0.1


def probe(context: Context) -> Iterator[Yield]:
    """Readings for each chip that Mesa has a driver for."""
    if isinstance(context.host, CapturedHost):
        yield NotTested(what=WHAT, why="a recorded machine cannot be loaded")
        return
    if MISSING is not None:
        yield NotTested(what=WHAT, why=f"the compiled load is missing: {MISSING}")
        return
    nodes = [d for d in context.host.udev("drm") if re.fullmatch(r"renderD\d+", d.name)]
    if not nodes:
        yield NotTested(what=WHAT, why="the kernel has no driver here that computes pictures")
    with StopRequest() as stop:
        for node in nodes:
            at = owner(context, node)
            hot = limits.too_hot(context.host)
            if hot is not None or stop.asked:
                why = f"too hot to be loaded already: {hot}" if hot else "stopped before"
                yield NotTested(what=WHAT, why=why, at=at)
                continue
            yield from _loaded(context, node, at, stop)


def _loaded(context: Context, node: UdevDevice, at: str, stop: StopRequest) -> Iterator[Yield]:
    """One chip: what it sends to its screens before and after, and its load between."""
    work, sent = _ChipLoad(context, node, at, stop), ScanOut(context, node)
    yield Progress(says="watching what goes to the screens")
    sent.look("before the load", lambda: stop.asked)
    yield from work.run()
    if work.nothing is not None:
        yield NotTested(what=WHAT, why=work.nothing, at=at)
    else:
        for found in judged(work.trial):
            yield found.reading(
                at, f"self-checking load on {work.path}", node.name, ("under load",)
            )
        if work.trial.hung is None:  # whoever asks a chip that hangs may wait for ever
            sent.look("after the load", lambda: stop.asked)
    yield sent.found().reading(at, FOLDER, node.name)


class _ChipLoad:
    """One chip loaded until its time, the heat, a hang or the technician ends it."""

    def __init__(self, context: Context, node: UdevDevice, at: str, stop: StopRequest) -> None:
        self._context, self._at, self._stop = context, at, stop
        self.path = node.properties.get("DEVNAME", f"/dev/dri/{node.name}")
        self._chip = node.path.partition("/drm/")[0]
        self.trial = ChipTrial(rise=context.knowledge.checks[load_judge.HOT].limits["rise_k"])
        self.nothing: str | None = None
        """Why there was no load at all."""
        self._celsius: float | None = None
        self._looked = float("-inf")

    def run(self) -> Iterator[Progress]:
        trial, host = self.trial, self._context.host
        since = hardware_errors.newest(host)
        trial.at_start = self._heat()
        with ChipFollower(self.path) as follower:
            yield from self._followed(follower)
            trial.events = _said(self._context, self._at, since)

    def _followed(self, follower: ChipFollower) -> Iterator[Progress]:
        whole = SECONDS[self._context.depth]
        begun = heard = told = time.monotonic()
        # The last result is waited for: a chip may hang shortly before the time is over.
        while (gone := time.monotonic() - begun) < whole or heard < begun + whole:
            if self._must_end():
                return
            paused = yield from self._rest(follower)
            begun, heard = begun + paused, heard + paused
            for message in follower.heard(TICK):
                heard = time.monotonic()
                self._take(message)
            self.trial.seconds = gone
            if self.nothing is not None or self._over(follower, time.monotonic() - heard):
                return
            if time.monotonic() - told >= 1.0:
                told = time.monotonic()
                left = max(0.0, whole - gone)
                yield Progress(says=self._says(), done=1 - left / whole, seconds_left=left)

    def _rest(self, follower: ChipFollower) -> Generator[Progress, None, float]:
        """As long as the technician wants a pause; seconds it lasted."""
        control, began = self._context.control, time.monotonic()
        if not control.paused():
            return 0.0
        follower.signal(signal.SIGSTOP)
        while control.paused() and not self._stop.asked:
            yield Progress(says="paused", paused=True)
            time.sleep(LOOK_SECONDS)
        follower.signal(signal.SIGCONT)
        return time.monotonic() - began

    def _must_end(self) -> bool:
        """The technician, or the heat."""
        now, trial = time.monotonic(), self.trial
        if self._stop.asked or self._context.control.skip():
            word = "stopped" if self._stop.asked else "skipped"
            trial.cut = f"{word} by the technician after {trial.seconds:.0f} s"
            return True
        if now - self._looked >= LOOK_SECONDS:
            self._looked = now
            self._celsius = self._heat()
            trial.ended = trial.ended or limits.too_hot(self._context.host)
        return trial.ended is not None

    def _heat(self) -> float | None:
        """By the chip's own sensors where it has some: a hotter part beside it hides its rise."""
        host = self._context.host
        own = limits.hottest(host, self._chip)
        return own if own is not None else limits.hottest(host)

    def _take(self, message: Message) -> None:
        if isinstance(message, Beat):
            self.trial.take(message, self._celsius)
        elif isinstance(message, Begun):
            self.trial.begun = message
            if not message.kinds:
                self.nothing = f"Mesa has no driver for it: {message.renderer} would stand in"
        elif isinstance(message, Doubted):
            self.trial.doubted += 1
        else:
            self._broke(message)

    def _broke(self, broken: Broken) -> None:
        if broken.lost:
            self.trial.hung = broken.says
        elif self.trial.begun is None:
            self.nothing = broken.says
        else:
            self.trial.ended = broken.says

    def _over(self, follower: ChipFollower, silent: float) -> bool:
        """Whether nothing more will come."""
        trial = self.trial
        patience = SILENCE if trial.cold.results or trial.hot.results else AT_START
        if silent > patience:
            trial.hung = f"no result came from the graphics chip for {silent:.0f} s"
        elif follower.status:
            trial.died = f"the graphics driver ended its own process ({_how(follower.status)})"
        return follower.status is not None or trial.hung is not None

    def _says(self) -> str:
        trial = self.trial
        if trial.begun is None:
            return "waiting for the graphics driver"
        heat = "" if self._celsius is None else f", {self._celsius:.0f} °C"
        wrong = trial.cold.wrong + trial.hot.wrong
        found = f", {wrong} wrong" if wrong else ""
        return f"graphics chip under load, {trial.cold.results + trial.hot.results} results" + (
            heat + found
        )


def _how(status: int) -> str:
    return signal.Signals(-status).name if status < 0 else f"status {status}"


def _said(context: Context, at: str, since: float) -> tuple[KernelEvent, ...]:
    """Messages of the kernel about this chip that came later."""
    fresh = [m for m in context.host.kernel_log() if m.seconds > since]
    return tuple(
        e
        for e in kernel_log.attach(kernel_log.events(fresh), context.inventory)
        if e.subsystem == "graphics" and e.component in (at, None)
        and e.layer in ("graphics", "host bus")
    )  # fmt: skip
