"""One guided check from its first step to its last, by whoever shows and asks."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Protocol

from livecheck.guided.bench import GuideBench
from livecheck.guided.events import Event
from livecheck.guided.steps import Guide, GuideStep
from livecheck.guided.watcher import Watcher
from livecheck.host import Host

PAUSE = 0.03
"""Seconds between two looks, unless ``ask`` waits itself."""


class Technician(Protocol):
    """Who is shown the steps and answers them."""

    def show(self, step: GuideStep) -> None:
        """Show a step that differs from the one before."""

    def ask(self, step: GuideStep) -> Event | None:
        """The answer, if there is one by now; it may wait a little, not long."""


def drive(
    guide: Guide,
    host: Host,
    bench: GuideBench,
    technician: Technician,
    clock: Callable[[], float] = time.monotonic,
) -> GuideStep:
    """Run a check to its end; returns the last step, with readings.

    Every device and setting is given back, however it ends.
    """
    with Watcher(host, bench, clock) as watcher:
        step = guide.start()
        acted = 0
        technician.show(step)
        while not step.done:
            before = step
            if step.act is not None and step.act.number > acted:
                acted = step.act.number
                step = guide.feed(watcher.act(step.act))
            else:
                for event in watcher.poll(step):
                    step = guide.feed(event)
                answer = technician.ask(step) if not step.done else None
                if answer is not None:
                    step = guide.feed(answer)
            if step != before:
                technician.show(step)
    return step
