"""Whether a machine may go back to its owner, in words: for report, console and command line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from livecheck.chances import percent
from livecheck.diagnosis.handover import HandOver, HandOverRow, compare
from livecheck.intake import HANDED, OFTEN, words_of, would_show
from livecheck.names import Names
from livecheck.probes import registry
from livecheck.records import Case, Knowledge, Outcome, Run
from livecheck.wording import count, text


def hand_over_of(case: Case, runs: Sequence[Run], tables: Knowledge) -> HandOver | None:
    """The case's last run held against those before it, where it was made for that."""
    local = [run for run in runs if not run.in_known_good_machine]
    if not local or not max(local, key=lambda run: run.number).hand_over:
        return None
    return compare(local, tables.checks, case.spares)


def headline(found: HandOver) -> str:
    """The answer in a sentence."""
    if not found.signed:
        return text("hand-over.not-signed")
    if found.declined:
        return count("hand-over.declined", len({row.mend for row in found.declined}))
    failed = any(row.held for row in found.rows)
    return text("hand-over.signed" if failed else "hand-over.signed-sound")


def became(row: HandOverRow) -> str:
    """What became of a component."""
    state = text(f"became.{row.state.value.replace(' ', '-')}")
    return f"{state}: “{row.declined}”" if row.declined else state


def reasons(found: HandOver, names: Names) -> Iterator[str]:
    """What stands in the way, one sentence each."""
    for row in found.barred:
        why = "; ".join(dict.fromkeys(h.says for h in row.held if h.now is not Outcome.PASSED))
        why = f" ({why})" if why else ""
        yield f"{names.of(row.component).label}: {became(row)}{why}."
        if row.unsafe:
            yield text("hand-over.unsafe", part=names.of(row.component).label)
    for part in found.lent:
        yield text("hand-over.lent", part=names.of(part).label)
    for probe in found.left_out:
        known = registry.BY_NAME.get(probe.probe)
        title = known.title if known is not None else probe.probe
        yield text("hand-over.left-out", probe=title, why=probe.says or probe.ended)
    if found.ended is not None:
        yield text("hand-over.ended", how=found.ended)


def declined(found: HandOver, names: Names) -> Iterator[str]:
    """What goes back as it is, with the customer's words."""
    for row in found.declined:
        yield f"{names.of(row.component).label}: {became(row)}."


def unclaimed(found: HandOver, names: Names) -> Iterator[str]:
    """What the shop is to look at itself: a part fitted anew may be sold, or its own."""
    for part in found.unclaimed:
        yield text("hand-over.unclaimed", part=names.of(part).label)


def goes_with(case: Case) -> str | None:
    """What was handed over with the machine and goes back with it."""
    words = words_of(case.told, HANDED)
    return text("hand-over.with-it", words=words) if words not in ("", "nothing") else None


def soak(found: HandOver, case: Case, tables: Knowledge) -> str:
    """What the soak came to, and whether it was long enough for a fault as often as told."""
    if found.soaked is None or not found.soak_hours:
        return found.soaked or text("hand-over.no-soak")
    row = tables.intake.get(OFTEN)
    share = would_show(case.told, row, found.soak_hours) if row is not None else None
    if share is None:
        return found.soaked
    shown = text("hand-over.would-show", percent=percent(share))
    return f"{found.soaked.rstrip('.')}. {shown}"
