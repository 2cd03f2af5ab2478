"""What a verdict does not rest on, in words that stand above it."""

from __future__ import annotations

from collections.abc import Sequence

from livecheck.records import Case, Run
from livecheck.wording import moment, text


def incomplete(runs: Sequence[Run]) -> str | None:
    """What the last run lacks; None: it came to its end, or there is none."""
    last = max(runs, key=lambda run: run.number, default=None)
    if last is None or last.finished:
        return None
    if last.stopped:
        return text("run.broken-off", number=last.number)
    return text("run.cut-off", number=last.number)


def taken_out(case: Case) -> tuple[str, ...]:
    """A sentence for each run that is kept in the case's folder and not judged."""
    return tuple(
        text("run.taken-out", number=one.run, when=moment(one.at), why=one.why)
        for one in sorted(case.taken_out, key=lambda one: one.run)
    )
