"""Samples as they come, for screens and probes."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from livecheck.host import Host
from livecheck.meters.sample import Sample
from livecheck.meters.sampler import Sampler


def feed(
    host: Host,
    sampler: Sampler | None = None,
    every: float = 1.0,
    stopped: Callable[[], bool] = lambda: False,
    step: Callable[[], str] = lambda: "",
) -> Iterator[Sample]:
    """A sample each ``every`` seconds until stopped; blocks between them.

    Keeps to the clock: a sample that took long makes the wait shorter, and ticks that
    were missed altogether are left out, not made up for.
    """
    meter = sampler or Sampler(host)
    due = host.clock()
    while not stopped():
        yield meter.take(step())
        due = max(due + every, host.clock())
        host.wait(max(0.0, due - host.clock()))
