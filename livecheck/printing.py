"""What the command line prints: the same facts as report and console, as plain text."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final
from unicodedata import east_asian_width

from livecheck import heed, step_names
from livecheck.casefile import Loaded
from livecheck.casefile.shop import CaseEntry
from livecheck.chances import in_column, percent
from livecheck.completeness import incomplete, taken_out
from livecheck.coverage import coverage
from livecheck.demo import Step
from livecheck.diagnosis.testability import AmbiguityGroup
from livecheck.found_words import reworded
from livecheck.names import Names
from livecheck.offers import offers
from livecheck.probes.runner import Event
from livecheck.records import Caution, Complaint, Knowledge, Location, NextStep, Outcome, Run, Swap
from livecheck.saving import Saved
from livecheck.suspects import Suspect, suspects
from livecheck.telling import telling
from livecheck.way_on import heading, judged_in, no_step, step_left, way_on
from livecheck.worded import table_word
from livecheck.wording import clean, minutes, text

WIDTH = 79
MOST_LISTED = 5
_WORTH_TELLING = 0.02


def event(happened: Event) -> str | None:
    """One line for a finished probe or a failed reading; None for what only a screen shows."""
    if happened.kind == "ended" and happened.ended is not None:
        how = happened.ended.ended
        tail = f": {reworded(happened.ended.says)}" if happened.ended.says else ""
        title = table_word(f"probe.{happened.probe}", happened.title)
        how = table_word(f"running.state-{how.replace(' ', '-')}", how)
        return clean(f"{title}: {how} ({happened.ended.seconds:.1f} s){tail}")
    reading = happened.reading
    if reading is not None and reading.outcome is Outcome.FAILED:
        where = text("printed.at", where=happened.where) if happened.where else ""
        return clean(text("printed.found", where=where, says=reworded(reading.says)))
    return None


def saved(result: Saved, tables: Knowledge) -> str:
    """What a run found and where it lies; the report's path comes last."""
    return "\n".join(
        [
            verdict(result.loaded, result.location, tables),
            "",
            text("printed.case", path=result.case_folder),
            text("printed.run", path=result.run_file),
            text("printed.report", path=result.report_file),
        ]
    )


def saved_json(result: Saved) -> dict[str, Any]:
    """The run as saved, what became of each device, and the fault location."""
    return {
        "case": result.loaded.case.id,
        "case_folder": str(Path(result.case_folder).resolve()),
        "run_file": str(Path(result.run_file).resolve()),
        "report": str(Path(result.report_file).resolve()),
        "devices": coverage(result.run),
        "run": result.run,
        "location": result.location,
    }


def verdict(loaded: Loaded, found: Location, tables: Knowledge) -> str:
    """What the runs of a case say together; a run that lacks something says so first."""
    case, runs = loaded.case, loaded.runs
    lacks = incomplete(runs)
    lines = [_wrapped(text("printed.left", says=reworded(one))) for one in loaded.damaged]
    lines += [_wrapped(line) for line in taken_out(case)]
    lines += [_wrapped(lacks)] if lacks is not None else []
    lines.append(_wrapped(found.sentence))
    left, step = way_on(case, runs, found, tables), step_left(case, found)
    if not left:
        lines += _cautions(heed.standing(case, runs, tables, step))
        rescue = heed.rescue(case, runs, tables)
        lines += [_wrapped(rescue)] if rescue is not None else []
    if left:
        lines += [heading(left), *(_item(one.says) for one in left)]
    elif step is not None:
        lines += _step(step, Names(runs, tables), tables)
        lines += _once_done(step, runs)
    else:
        says = no_step(case, found, tables, judged_in(runs))
        lines.append(_wrapped(text("printed.next", says=says)))
    if not left and case.closed is None:
        names = Names(runs, tables)
        ways = offers(found, runs, names, tables)
        lines += [_item(f"{text('offers.instead')} {one.what}") for one in ways]
    listed = suspects(found)
    if listed:
        lines += ["", *(clean(_suspect(one)) for one in listed[:MOST_LISTED])]
    return "\n".join([*lines, "", *(_wrapped(sentence) for sentence in found.explanation)])


def _suspect(one: Suspect) -> str:
    besides = "" if one.bears else f" {text('suspects.besides')}"
    return f"  {in_column(one.probability)}  {one.side:<11} {one.names}{besides}"


def demo_step(step: Step, tables: Knowledge) -> str:
    """One run of a played story: what was done, and the verdict after it."""
    head = f"{step.title}, run {step.number}: {step.says}"
    said = verdict(step.saved.loaded, step.saved.location, tables)
    body = textwrap.indent(said, "    ")
    return f"{_wrapped(head)}\n{body}\n    Report: {step.saved.report_file}\n"


def cases(entries: Sequence[CaseEntry]) -> str:
    """The case index, one case a line."""
    if not entries:
        return "No cases here yet."
    lines = []
    for entry in entries:
        case = entry.case
        if case is None:
            lines.append(clean(f"{Path(entry.path).name}: {entry.trouble}"))
            continue
        state = f"closed: {case.outcome or 'no outcome noted'}" if case.closed else "open"
        machine = case.machine.product or case.machine.board_product or "machine without a name"
        ticket = f"ticket {case.ticket}, " if case.ticket else ""
        lines.append(clean(f"{case.id}: {ticket}{machine}, {case.complaint}, {state}"))
    return "\n".join(lines)


def _cautions(found: Sequence[Caution]) -> list[str]:
    return [_wrapped(text("console.caution", says=one.text)) for one in found]


def _step(step: NextStep, names: Names, tables: Knowledge) -> list[str]:
    says = f"{step_names.named(step, names, tables)} ({minutes(step.minutes)})"
    lines = [_wrapped(text("printed.next", says=says))]
    lines += _cautions(heed.cautions(step, tables))
    lines.append(_wrapped(step.why))
    same = len({outcome.means for outcome in step.outcomes}) == 1
    for outcome in step.outcomes:
        means = "" if same else f": {outcome.means}"
        lines.append(_item(f"{outcome.result} ({percent(outcome.probability)}){means}"))
    return lines


def _once_done(step: NextStep, runs: Sequence[Run]) -> list[str]:
    """How the next run is told of it; as it is typed in, so not wrapped."""
    told = telling(step, runs)
    return [clean(text("step.once-done", options=told.options))] if told is not None else []


def _item(words: str) -> str:
    return textwrap.indent(_wrapped(f"- {words}"), "  ")


def change(swap: Swap, names: Names) -> str:
    """One change between two runs, as a line."""
    done = table_word(f"change.{swap.change.replace(' ', '-')}", swap.change)
    label, nothing = names.of(swap.place).label, text("swaps.nothing")
    if swap.before is None and swap.after is None:
        return clean(f"{label}: {done}")
    if swap.before == swap.after and swap.before is not None:
        return clean(f"{label}: {done} ({names.of(swap.before).label})")
    before, after = (names.of(key).label if key else nothing for key in (swap.before, swap.after))
    return clean(f"{label}: {done} ({before} -> {after})")


def _wrapped(sentence: str) -> str:
    # A command is copied from the screen: it stays in one piece.
    return _filled(sentence, break_on_hyphens=False)


_SECOND: Final = "\ue000"
"""Behind a sign of double width, for its second cell; no text that was cleaned holds it."""


def _filled(words: str, **how: Any) -> str:
    """Clean, and wrapped by cells (UAX 11), of which a terminal has so many in a line."""
    cells = (c + _SECOND * (east_asian_width(c) in ("W", "F")) for c in clean(words))
    return textwrap.fill("".join(cells), WIDTH, **how).replace(_SECOND, "")


def cannot_tell(
    groups: Sequence[AmbiguityGroup], run: Run, complaint: Complaint, knowledge: Knowledge
) -> str:
    """Groups of components that a machine's checks do not part, as plain text."""
    lines = [text("apart.heading", run=run.number, complaint=text(f"complaint.{complaint.value}"))]
    for group in (one for one in groups if one.share >= _WORTH_TELLING):
        lines += ["", text("apart.group", share=percent(group.share), names=", ".join(group.names))]
        if group.swaps:
            lines.append(text("apart.swaps", names=", ".join(group.swaps)))
        if len(group.left) > 1:
            titles = [kind.title if (kind := knowledge.kinds.get(u)) else u for u in group.left]
            lines.append(text("apart.left", names=", ".join(titles)))
        asked = [knowledge.checks[check].question for check in group.checks]
        lines += [text("apart.check", question=question) for question in asked]
    if len(lines) == 1:
        lines.append(text("apart.none"))
    return "\n".join(_filled(one, subsequent_indent="  ") for one in lines)
