"""The run before a machine goes back: guided checks, every probe, a soak, before against after."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from livecheck import knowledge, signing
from livecheck.casefile import Shop, find_shop, place_names
from livecheck.commands import checking
from livecheck.commands.common import (
    DONE,
    NOT_SIGNED,
    Failure,
    Subparsers,
    UsageError,
    case_argument,
    common,
    machine_argument,
)
from livecheck.commands.files import captured, case_of, load, read_tables, root_of, run_kept
from livecheck.commands.language import telling
from livecheck.commands.output import in_words, print_json, print_saved, tell, told
from livecheck.commands.stopping import STOPPING, stop_requests
from livecheck.guided import left_out, offered
from livecheck.guided.table import at_hand_over
from livecheck.host import Host
from livecheck.live_host import LiveHost
from livecheck.names import Names
from livecheck.near import near
from livecheck.records import (
    Answer,
    Case,
    Complaint,
    GoesBack,
    Knowledge,
    Outcome,
    Run,
)
from livecheck.worded import worded
from livecheck.wording import clean, text

if TYPE_CHECKING:
    from livecheck.commands.guided_terminal import Found
    from livecheck.saving import Saved

SOLD = "sold with the repair"


def add(commands: Subparsers) -> None:
    """Add ``hand-over``."""
    parser = commands.add_parser(
        "hand-over", help="the last run before the machine goes back, with its sign-off"
    )
    case_argument(parser, nargs="?")
    parser.add_argument("--ticket", help="the shop's own number, in place of the folder")
    parser.add_argument("--soak", metavar="HOURS", type=float, default=0.0,
                        help="hours of load on processor and memory")  # fmt: skip
    parser.add_argument("--declined", metavar="COMPONENT=WORDS", action="append", default=[],
                        help="what the customer does not want mended, in his words")  # fmt: skip
    parser.add_argument("--stays", metavar="IDENTITY", action="append", default=[],
                        help="a part that was fitted here and is the customer's now")  # fmt: skip
    parser.add_argument("--no-guided", action="store_true",
                        help="leave the guided checks out; they stand as not tested")  # fmt: skip
    parser.add_argument("--from", dest="source", metavar="CAPTURE", type=Path,
                        help="replay a capture instead of reading this machine")  # fmt: skip
    machine_argument(parser)
    common(parser, _run)


def _run(options: argparse.Namespace) -> int:
    from livecheck.plan import Plan
    from livecheck.run import RunContext, RunControl
    from livecheck.saving import run_and_save

    if (options.case is None) == (options.ticket is None):
        raise UsageError("hand-over wants a case (its folder or its id), or --ticket")
    soak = checking.hours(options.soak)
    live = LiveHost()
    path = case_of(options) if options.case is not None else None
    shop = find_shop(live, options.shop if path is None else root_of(path))
    loaded = load(path if path is not None else _named(shop, options.ticket))
    case, earlier = loaded.case, loaded.runs
    if case.closed is not None:
        raise Failure(f"case {case.id} is closed (open a new one with livecheck run)")
    host = captured(options.source) if options.source else live
    tables = read_tables(shop.root, case.id)
    readings, missed, called = _guided(host, options, shop.cases_folder, case.complaint)
    plan = Plan(
        answers=_answers(options, case, earlier),
        complaint=case.complaint,
        ticket=case.ticket,
        case=case.id,
        readings=readings,
        left_out=missed,
        hand_over=True,
        soak_hours=soak,
        same_machine=options.same_machine,
    )
    with run_kept(options), stop_requests(STOPPING) as stopped:
        control = RunControl(on_event=tell, stopped=stopped)
        context = RunContext(host=host, plan=plan, knowledge=tables, control=control)
        saved = run_and_save(context, shop)
    place_names.keep_told(shop.cases_folder, saved.run.inventory.machine, called)
    return _told(saved, tables, options.json)


def _told(saved: Saved, tables: Knowledge, as_json: bool) -> int:
    """Print what came of it; returns the exit status."""
    runs, case = saved.loaded.runs, saved.loaded.case
    found = signing.hand_over_of(case, runs, tables)
    signed = found is not None and found.signed
    if as_json:
        names = Names(runs, tables, case.spares)
        why = list(signing.reasons(found, names)) if found is not None else []
        whole = {"hand_over": found, "signed": signed, "reasons": why}
        print_json({"case": saved.case_folder, "report": saved.report_file, **whole})
    else:
        with telling():
            shown, said, _ = in_words(saved.loaded, saved.location, tables, saved.case_folder)
            lines = words(case, shown.runs, said)
        print("\n".join(map(told, lines.split("\n"))), end="\n\n")
        print_saved(saved, tables, False)
    return DONE if signed else NOT_SIGNED


def _named(shop: Shop, ticket: str) -> Path:
    """Folder of the open case of a ticket. Raises Failure."""
    entries = shop.entries()
    for entry in checking.of_ticket(ticket, entries, still_open=True):
        return Path(entry.path)
    cases = (e.case for e in entries if e.case is not None and e.case.closed is None)
    there = filter(None, (case.ticket for case in cases))
    raise Failure(f"no open case has the ticket {ticket}{near(ticket, there)}")


def _answers(options: argparse.Namespace, case: Case, runs: Sequence[Run]) -> tuple[Answer, ...]:
    """What was declined, and which of the shop's parts stay. Raises UsageError."""
    failed = {r.at for run in runs for r in run.readings if r.outcome is Outcome.FAILED}
    parts = [part for run in runs for part in run.inventory.parts]
    ours = {*case.spares, *(name for run in runs for name in run.known_good)}
    known = ours | {p.id for p in parts} | {p.identity for p in parts if p.identity}
    answers: list[Answer] = []
    for words in options.declined:
        about, _, said = words.partition("=")
        if not said.strip():
            raise UsageError(f"--declined {words}: say the customer's words (as in ID=too dear)")
        component = checking.one_of(about, failed | {part.id for part in parts}, "--declined")
        answers.append(GoesBack(component=component, words=said.strip()))
    answers += [
        GoesBack(component=checking.one_of(one, known, "--stays"), words=SOLD)
        for one in options.stays
    ]
    return tuple(answers)


def _guided(host: Host, options: argparse.Namespace, cases: Path, complaint: Complaint) -> Found:
    """The guided checks this machine has hardware for; all left out where nobody is there."""
    from livecheck.plan import Plan
    from livecheck.run import begin

    begun = place_names.renamed(begin(host, Plan())[0], place_names.known(cases))
    table = knowledge.guided()
    names = place_names.of(cases, begun.inventory.machine)
    offers = at_hand_over(offered(begun.inventory, table, names), complaint)
    why = None
    if options.no_guided:
        why = "left out by the technician"
    elif options.source:
        why = "a recorded machine has nothing to press"
    elif not sys.stdin.isatty():
        why = "nobody was at the terminal"
    if why is not None:
        return (), tuple(n for offer in offers for n in left_out(offer, why)), {}
    from livecheck.commands import guided_terminal as terminal
    from livecheck.guided.live import LiveBench

    with telling():
        return terminal.run(offers, table, worded(knowledge.load()), host, LiveBench())


def words(case: Case, runs: Sequence[Run], tables: Knowledge) -> str:
    """What the comparison came to, in lines."""
    found = signing.hand_over_of(case, runs, tables)
    if found is None:
        return "Hand-over: this is the case's only run, so there is nothing to hold it against."
    names = Names(runs, tables, case.spares)
    lines = [f"Hand-over, run {found.first} against run {found.last}: {signing.headline(found)}"]
    lines += [f"  {reason}" for reason in signing.reasons(found, names)]
    mends = dict.fromkeys(row.mend for row in found.barred if not row.unsafe)
    lines += [f"  if the customer declines it: --declined {mend}=…" for mend in mends]
    lines += [f"  if it was sold: --stays {part}" for part in found.lent]
    mended = [row for row in found.rows if row.to_tell and row not in found.barred]
    for row in mended:
        lines.append(f"  {names.of(row.component).label}: {signing.became(row)}")
        if row.successor:
            lines.append(f"    {text('hand-over.successor')} {names.of(row.successor).label}")
    lines += [f"  {words}" for words in signing.unclaimed(found, names)]
    with_it = signing.goes_with(case)
    lines += [f"  {with_it}"] if with_it is not None and found.signed else []
    return "\n".join(map(clean, lines))
