"""Logs that the customer's own system kept, as a run that was seen inside it.

Files are read from end to end, however long: what no rule counts is forgotten at once.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import BinaryIO, Final

import msgspec

from livecheck import __version__, guarded, kernel_log, knowledge, windows_log
from livecheck.kernel_log.log_names import LogNames
from livecheck.kernel_log.log_starts import Once, Starts
from livecheck.kernel_log.saved import NEW_START, Stamped, read
from livecheck.log_stream import DAMAGE, Patience, PatientStream, unpacked
from livecheck.probes.kernel import history
from livecheck.probes.kernel.checks import CHECKS
from livecheck.records import DamagedRecord, Inventory, KernelEvent, NotTested, Run

CHUNK: Final = 5000
"""Messages judged at once: lines of one report lie together."""

MOST_EVENTS: Final = 200_000
"""Events kept; what a log says more often it has said often enough."""

EVERY: Final = 100_000
"""Messages between two words on how far it is."""

OnProgress = Callable[[int], None]


class LogRead(msgspec.Struct, frozen=True):
    """What the files held."""

    messages: int
    starts: int
    """Starts of the kernel."""
    dated: bool
    """True: every message has a date; else times are those since some start."""
    events: tuple[KernelEvent, ...]
    kernel: str | None
    """The latest kernel's own name for itself."""
    missed: tuple[str, ...]
    """Why some of it was not read."""


def read_files(
    files: Sequence[Path],
    inventory: Inventory,
    year: int,
    on_progress: OnProgress = lambda count: None,
) -> LogRead:
    """The events of saved logs, given to the parts of an inventory. Raises OSError."""
    rows = knowledge.windows_events()
    logs = {path: windows_log.read(path, rows, inventory, on_progress) for path in files}
    texts = [path for path, log in logs.items() if log is None]
    found, once = _read_texts(texts, inventory, year, on_progress), Once()
    for log in logs.values():
        found = _joined(found, log, once) if log is not None else found
    return found


def _joined(found: LogRead, log: windows_log.EventLog, once: Once) -> LogRead:
    once.new_file()
    fresh = tuple(event for event in log.events if once.fresh(event))
    return msgspec.structs.replace(
        found,
        messages=found.messages + log.messages,
        dated=(found.dated or not found.messages) and log.messages > 0,
        events=(found.events + fresh)[:MOST_EVENTS],
        missed=found.missed + log.missed,
    )


def _read_texts(
    files: Sequence[Path], inventory: Inventory, year: int, on_progress: OnProgress
) -> LogRead:
    names, whose, once = LogNames(inventory), Starts(inventory.machine), Once()
    missed, patience = list[str](), Patience()
    kept: list[KernelEvent] = []
    count = starts = 0
    dated, kernel = True, None
    for path in files:
        once.new_file()
        for chunk in _chunks(_messages(path, year, patience, missed)):
            for stamped in chunk:
                whose.learn(stamped.message.text)
                if whose.own:
                    names.learn(stamped.message)
                dated = dated and stamped.dated
                if stamped.message.text.startswith(NEW_START):
                    starts += 1
                    kernel = " ".join(stamped.message.text.split()[:3])
            if whose.own:
                found = kernel_log.events([stamped.message for stamped in chunk])
                told = names.attach(tuple(e for e in found if _counted(e) and once.fresh(e)))
                kept += told[: MOST_EVENTS - len(kept)]
            if (count + len(chunk)) // EVERY > count // EVERY:
                on_progress(count + len(chunk))
            count += len(chunk)
    missed += whose.left_out()
    if len(kept) >= MOST_EVENTS:
        missed.append(f"it holds more than {MOST_EVENTS} counted messages; the first were kept")
    if patience.over:
        missed.append(f"reading was ended after {patience.seconds / 60:.0f} minutes")
    return LogRead(count, starts, dated and count > 0, tuple(kept), kernel, tuple(missed))


def _counted(event: KernelEvent) -> bool:
    return any(check.counts(event) for check in CHECKS) or event.serious


def _messages(path: Path, year: int, patience: Patience, missed: list[str]) -> Iterator[Stamped]:
    with _opened(path) as stream:
        try:
            yield from read(PatientStream(stream, patience), year)
        except DAMAGE as error:
            missed.append(f"{path.name} is not a whole file ({error})")


def _opened(path: Path) -> BinaryIO:
    """The file, unpacked where it is packed; what is none is an OSError."""
    try:
        return unpacked(os.fdopen(guarded.opened(guarded.named(path)), "rb"))
    except DamagedRecord as error:
        raise OSError(0, f"is {error}", str(path)) from error


def _chunks(messages: Iterator[Stamped]) -> Iterator[list[Stamped]]:
    """A new start begins a new chunk: names mean other parts then."""
    chunk: list[Stamped] = []
    for one in messages:
        if len(chunk) >= CHUNK or (chunk and one.message.text.startswith(NEW_START)):
            yield chunk
            chunk = []
        chunk.append(one)
    if chunk:
        yield chunk


def run_of(log: LogRead, begun: Run) -> Run:
    """A run that holds what the log says of the machine of ``begun``, and no probe's readings."""
    missed = [NotTested(what="Every probe", why="only a log of the installed system was read")]
    missed += [NotTested(what="The rest of the log", why=why) for why in log.missed]
    return msgspec.structs.replace(
        begun,
        inside=True,
        readings=(*begun.readings, *history.readings(log.events, log.dated)),
        events=(),
        not_tested=(*begun.not_tested, *missed),
        kernel=log.kernel,
        program=__version__,
        finished=True,
    )
