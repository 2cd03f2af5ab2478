"""A log that the installed system kept, as readings of its own checks (``history.*``).

What it names counts as the kernel's messages on the stick do, and is weighed with the
installed system among the causes (livecheck.knowledge). What it does not name says
nothing: nobody knows what that system did, nor whether the log is whole.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import Final

import msgspec

from livecheck.probes.kernel import messages
from livecheck.probes.kernel.checks import CHECKS
from livecheck.probes.kernel.messages import Incidents
from livecheck.records import KernelEvent, Outcome, Reading
from livecheck.records.tables import DAYS

SOURCE: Final = "a log of the installed system"
PREFIX: Final = "history."

DAYS_SHOWN: Final = 31

_BEGIN: Final = re.compile(r"^\[(\d+\.\d+)\] ")


def readings(events: Sequence[KernelEvent], dated: bool) -> Iterator[Reading]:
    """Failed or not judged readings; ``dated``: the events' seconds are those since 1970."""
    found = messages.causes(events)
    for reading in messages.failures(found, _days if dated else None):
        yield _history(reading, dated)
    homeless = [e for e in found if e.serious and e.component is None and not _of_all(e)]
    if homeless:
        unplaced = Reading(
            check=f"{PREFIX}unplaced",
            at=messages.MACHINE,
            outcome=Outcome.NOT_JUDGED,
            value=len(homeless),
            unit="messages",
            why_not="these messages name a device that cannot be told in this machine",
            details=messages.raw_lines(homeless),
        )
        yield _history(unplaced, dated)
    if dated and found:
        yield _by_day(found)


def _of_all(event: KernelEvent) -> bool:
    """Counted for the machine as a whole: it needs no device."""
    return any(check.whole_machine and check.counts(event) for check in CHECKS)


def _by_day(events: Sequence[KernelEvent]) -> Reading:
    """What was logged on which day, of the last days that anything was."""
    days: dict[str, Counter[str]] = {}
    for event in sorted(events, key=lambda one: one.seconds):
        days.setdefault(_date(event.seconds), Counter())[event.says] += 1
    dates = list(days)
    return Reading(
        check=DAYS,
        at=messages.MACHINE,
        outcome=Outcome.NOT_JUDGED,
        value=len(days),
        unit="days",
        source=SOURCE,
        says="The installed system logged something of the hardware "
        f"from {dates[0]} to {dates[-1]}.",
        why_not="what was logged is judged check by check",
        details=tuple(
            f"{day}: {'; '.join(f'{count} × {says}' for says, count in told.most_common())}"
            for day, told in [*days.items()][-DAYS_SHOWN:]
        ),
    )


def _history(reading: Reading, dated: bool) -> Reading:
    return msgspec.structs.replace(
        reading,
        check=PREFIX + reading.check.removeprefix("kernel.").removeprefix(PREFIX),
        source=SOURCE,
        says=reading.says.replace("The kernel", "In the installed system the kernel", 1),
        details=tuple(_dated(line) for line in reading.details) if dated else reading.details,
    )


def _days(found: Incidents) -> str:
    """Since when, how often, and on how many days."""
    dates = sorted({_date(event.seconds) for event in found.events})
    times = "once" if found.count == 1 else f"{found.count} times"
    if len(dates) == 1:
        return f"{times} on {dates[0]}"
    return f"{times} on {len(dates)} days from {dates[0]} to {dates[-1]}"


def _date(seconds: float) -> str:
    return datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d")


def _dated(line: str) -> str:
    """A raw line with the date in place of the seconds."""
    match = _BEGIN.match(line)
    if match is None:
        return line
    when = datetime.fromtimestamp(float(match[1]), UTC)
    return f"{when:%Y-%m-%d %H:%M:%S} {line[match.end() :]}"
