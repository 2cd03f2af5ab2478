"""A stretch of a drive as typed on the command line: ``0-10GiB``, ``500GB-``, ``4096-8191``."""

from __future__ import annotations

import re
from typing import Final

from livecheck.commands.common import UsageError
from livecheck.probes import Span

UNITS: Final = {
    "": 1,
    "b": 1,
    **{f"{letter}b": 1000**power for power, letter in enumerate("kmgt", 1)},
    **{f"{letter}ib": 1024**power for power, letter in enumerate("kmgt", 1)},
}
"""SI for drives, binary by IEC 80000-13; capitals do not matter."""

_SIZE: Final = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*([a-z]*)")

BEYOND: Final = 1 << 62
"""End of a range that names none: larger than any drive."""


def size(words: str) -> int:
    """Bytes of ``512``, ``10GiB``, ``1.5 TB``. Raises UsageError."""
    match = _SIZE.fullmatch(words.strip().lower())
    if match is None or match[2] not in UNITS:
        raise UsageError(f"“{words}” is no size (as in 4096, 10GiB, 1.5TB)")
    return int(float(match[1]) * UNITS[match[2]]) if "." in match[1] else (
        int(match[1]) * UNITS[match[2]]
    )  # fmt: skip


def span(words: str, drive: str | None) -> Span:
    """The range named by START-END; END is the byte after the last. Raises UsageError."""
    start, dash, end = words.partition("-")
    if not dash or not (start.strip() or end.strip()):
        raise UsageError(f"“{words}” is no range (as in 0-10GiB, 500GB- for the rest)")
    first = size(start) if start.strip() else 0
    last = size(end) if end.strip() else BEYOND
    if last <= first:
        raise UsageError(f"the range {words} ends before it begins")
    if last > BEYOND:
        raise UsageError(f"the range {words} is larger than any drive")
    return Span(start=first, end=last, drive=drive)
