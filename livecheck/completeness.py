"""Whether the last run of a case was made to its end, in words that stand above the verdict."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.records import Run
from livecheck.wording import text


def incomplete(runs: Sequence[Run]) -> str | None:
    """What the last run lacks; None: it came to its end, or there is none."""
    last = max(runs, key=lambda run: run.number, default=None)
    if last is None or last.finished:
        return None
    if last.stopped:
        return text("run.broken-off", number=last.number)
    return text("run.cut-off", number=last.number)
