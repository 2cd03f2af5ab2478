"""One guided check from its first step to its last, by whoever shows and asks."""

from __future__ import annotations

import time
from collections.abc import Callable

from livecheck.guided.bench import Bench
from livecheck.guided.model import Event, Guide, Step
from livecheck.guided.watcher import Watcher
from livecheck.host import Host

PAUSE = 0.03
"""Seconds between two looks, unless ``ask`` waits itself."""


def drive(
    guide: Guide,
    host: Host,
    bench: Bench,
    show: Callable[[Step], None],
    ask: Callable[[Step], Event | None],
    clock: Callable[[], float] = time.monotonic,
) -> Step:
    """Run a check to its end; returns the last step, with readings.

    ``show`` is given every step that differs from the one before. ``ask`` gives the
    technician's answer, if there is one by now; it may wait a little, not long. Every
    device and setting is given back, however it ends.
    """
    with Watcher(host, bench, clock) as watcher:
        step = guide.start()
        acted = 0
        show(step)
        while not step.done:
            before = step
            if step.act is not None and step.act.number > acted:
                acted = step.act.number
                step = guide.feed(watcher.act(step.act))
            else:
                for event in watcher.poll(step):
                    step = guide.feed(event)
                answer = ask(step) if not step.done else None
                if answer is not None:
                    step = guide.feed(answer)
            if step != before:
                show(step)
    return step
