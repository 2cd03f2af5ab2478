"""Runs the self-checking load on every core at once and notes what came out wrong."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping, Sequence
from typing import Final, Literal

import msgspec

from . import _load
from .engine import POLL, pin

Kind = Literal["integer", "vector", "float"]
KINDS: Final[tuple[Kind, ...]] = ("integer", "vector", "float")

ROUNDS: Final = 1 << 18
"""Rounds a call: some milliseconds, so that a stop is heard soon."""

KEPT: Final = 64
"""Wrong results kept for each core; beyond, they are only counted."""


class WrongResult(msgspec.Struct, frozen=True, kw_only=True):
    cpu: int
    kind: str
    expected: int
    got: int
    seconds: float
    """Since the start of the load."""


class CoreResult(msgspec.Struct, kw_only=True):
    """What one core did."""

    cpu: int
    pinned: bool = False
    """False: the system would not keep the work on this core, so it cannot be named."""
    calls: int = 0
    wrong_count: int = 0
    wrong: list[WrongResult] = []


def run(
    cpus: Sequence[int],
    seconds: float,
    watch: Callable[[float, Sequence[CoreResult]], bool],
    flips: Mapping[int, int] | None = None,
    turn: int = 0,
) -> list[CoreResult]:
    """Load the cores for some seconds; what each did, in the order of ``cpus``.

    ``watch`` is called every POLL seconds with the time gone by; True stops.
    ``turn`` chooses the numbers worked on, so that repeated calls differ.
    ``flips`` is for tests: core -> bits spoilt in each of its results.
    """
    results = [CoreResult(cpu=cpu, wrong=[]) for cpu in cpus]
    stop = threading.Event()
    started = time.monotonic()
    threads = [
        threading.Thread(
            target=_core,
            args=(result, started, stop, (flips or {}).get(result.cpu, 0), turn),
            daemon=True,
        )
        for result in results
    ]
    for thread in threads:
        thread.start()
    try:
        while (gone := time.monotonic() - started) < seconds and not watch(gone, results):
            stop.wait(min(POLL, seconds - gone))
    finally:
        stop.set()
        for thread in threads:
            thread.join()
    return results


def _core(result: CoreResult, started: float, stop: threading.Event, flip: int, turn: int) -> None:
    result.pinned = pin(result.cpu)
    while not stop.is_set():
        kind = KINDS[result.calls % len(KINDS)]
        found = _load.work(kind, ROUNDS, turn << 32 | result.calls << 12 | result.cpu, flip)
        result.calls += 1
        if found is None:
            continue
        result.wrong_count += 1
        if len(result.wrong) < KEPT:
            result.wrong.append(
                WrongResult(
                    cpu=result.cpu,
                    kind=kind,
                    expected=found[0],
                    got=found[1],
                    seconds=time.monotonic() - started,
                )
            )
