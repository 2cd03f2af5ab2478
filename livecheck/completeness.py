"""What a verdict does not rest on, in words that stand above it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from livecheck.records import Case, Outcome, Run
from livecheck.wording import moment, text


def incomplete(runs: Sequence[Run]) -> str | None:
    """What the last run lacks; None: it came to its end and all can be judged, or there is none."""
    last = max(runs, key=lambda run: run.number, default=None)
    if last is None:
        return None
    if last.finished:
        why = "; ".join(dict.fromkeys(_not_judged(last)))
        return text("run.not-judged", number=last.number, why=why) if why else None
    if last.stopped:
        return text("run.broken-off", number=last.number)
    return text("run.cut-off", number=last.number)


def _not_judged(run: Run) -> Iterator[str]:
    """Why a measurement that was made by hand says nothing: it is made again, or told whole."""
    for one in run.readings:
        # What one look judges only one of its checks by says so itself, and is no trouble.
        by_hand = one.check.startswith("bench.") and one.value is not None and not one.says
        if by_hand and one.outcome is Outcome.NOT_JUDGED and one.why_not:
            yield one.why_not


def taken_out(case: Case) -> tuple[str, ...]:
    """A sentence for each run that is kept in the case's folder and not judged."""
    return tuple(
        text("run.taken-out", number=one.run, when=moment(one.at), why=one.why)
        for one in sorted(case.taken_out, key=lambda one: one.run)
    )
