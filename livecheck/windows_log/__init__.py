"""The event log of an installed Windows, as events of the kernel's kind.

``worker`` reads the file in a process of its own, ``kept`` lets through what a row of
``shared/windows.toml`` names, ``meaning`` says what it speaks of and at which component.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

import msgspec

from livecheck import guarded
from livecheck.records import DamagedRecord, Inventory, KernelEvent
from livecheck.records.windows_events import WindowsEvent
from livecheck.windows_log.kept import Kept
from livecheck.windows_log.meaning import Meaning
from livecheck.windows_log.worker import CHUNK, HEAD, Sifted, SoFar, follow

MAGIC: Final = b"ElfFile\0"
"""First bytes of the file (libevtx, "Windows XML Event Log (EVTX)")."""

SECONDS: Final = 60.0
"""For one log; a million events (262 MB) took 4 seconds on two busy cores."""

EVERY: Final = 100_000
"""Events between two words on how far it is."""

MOST_KEPT: Final = 200_000
"""Events that speak of hardware; what a log says more often it has said often enough."""

OTHER_WAY: Final = (
    "where Windows still starts, save its log there (wevtutil epl System LOG.evtx) and read it "
    "with livecheck read-log LOG.evtx"
)


class EventLog(msgspec.Struct, frozen=True):
    """What an event log held."""

    messages: int
    events: tuple[KernelEvent, ...]
    missed: tuple[str, ...]


def read(
    path: Path,
    rows: Mapping[str, WindowsEvent],
    inventory: Inventory,
    on_progress: Callable[[int], None],
) -> EventLog | None:
    """The log's events at the components of an inventory; None: the file is no event log."""
    try:
        descriptor = guarded.opened(guarded.named(path))
    except (DamagedRecord, OSError):
        return None
    try:
        if os.read(descriptor, len(MAGIC)) != MAGIC:
            return None
        os.lseek(descriptor, 0, os.SEEK_SET)
        log = _read(path.name, descriptor, Meaning(rows, inventory), on_progress)
        return msgspec.structs.replace(log, missed=log.missed + _cut_off(path.name, descriptor))
    finally:
        os.close(descriptor)


def _cut_off(name: str, descriptor: int) -> tuple[str, ...]:
    """Windows writes it in whole chunks behind its head, those without events too."""
    whole = (os.fstat(descriptor).st_size - HEAD) % CHUNK == 0
    return () if whole else (f"the event log {name} is cut off: what lay behind is lost",)


def _read(
    name: str, descriptor: int, meaning: Meaning, on_progress: Callable[[int], None]
) -> EventLog:
    kept, last = list[Kept](), SoFar(0)
    for told in follow(descriptor, meaning.rows, EVERY, SECONDS):
        match told:
            case SoFar():
                last = told
                if not told.done:
                    on_progress(told.events)
            case Sifted(kept=one) if len(kept) < MOST_KEPT:
                kept.append(one)
    missed = []
    if not last.done:
        missed.append(f"the event log {name} was not read to its end (it is damaged, or took more "
                      f"than {SECONDS:.0f} seconds): {OTHER_WAY}")  # fmt: skip
    elif last.unread:
        missed.append(
            f"parts of the event log {name} are damaged, and some may be left out: {OTHER_WAY}"
        )
    if len(kept) == MOST_KEPT:
        missed.append(f"it holds more than {MOST_KEPT} events of hardware; the first were kept")
    return EventLog(max(last.events, len(kept)), meaning.events(kept), tuple(missed))
