"""The run before a machine goes back: guided checks, every probe, a soak, before against after."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from livecheck import knowledge
from livecheck.casefile import Shop, find_shop
from livecheck.commands.common import DONE, Failure, Subparsers, UsageError, case_argument, common
from livecheck.commands.files import captured, case_of, load, read_tables, root_of, run_kept
from livecheck.commands.output import print_json, print_saved, tell
from livecheck.commands.stopping import STOPPING, stop_requests
from livecheck.diagnosis.handover import BARS, HandOver, compare
from livecheck.guided import left_out, offered
from livecheck.host import Host
from livecheck.live_host import LiveHost
from livecheck.near import near
from livecheck.records import Case, NotTested, Reading
from livecheck.wording import clean

MOST_HOURS = 72.0


def add(commands: Subparsers) -> None:
    """Add ``hand-over``."""
    parser = commands.add_parser(
        "hand-over", help="the last run before the machine goes back, with its sign-off"
    )
    case_argument(parser, nargs="?")
    parser.add_argument("--ticket", help="the shop's own number, in place of the folder")
    parser.add_argument("--soak", metavar="HOURS", type=float, default=0.0,
                        help="hours of load on processor and memory")  # fmt: skip
    parser.add_argument("--no-guided", action="store_true",
                        help="leave the guided checks out; they stand as not tested")  # fmt: skip
    parser.add_argument("--from", dest="source", metavar="CAPTURE", type=Path,
                        help="replay a capture instead of reading this machine")  # fmt: skip
    common(parser, _run)


def _run(options: argparse.Namespace) -> int:
    from livecheck.plan import Plan
    from livecheck.run import RunContext, RunControl
    from livecheck.saving import run_and_save

    if (options.case is None) == (options.ticket is None):
        raise UsageError("hand-over wants a case (its folder or its id), or --ticket")
    if not 0 <= options.soak <= MOST_HOURS:
        raise UsageError(f"--soak {options.soak:g}: 0 to {MOST_HOURS:g} hours")
    live = LiveHost()
    path = case_of(options) if options.case is not None else None
    shop = find_shop(live, options.shop if path is None else root_of(path))
    case = load(path).case if path is not None else _named(shop, options.ticket)
    if case.closed is not None:
        raise Failure(f"case {case.id} is closed (open a new one with livecheck run)")
    host = captured(options.source) if options.source else live
    tables = read_tables(shop.root, case.id)
    readings, missed = _guided(host, options)
    plan = Plan(
        complaint=case.complaint,
        ticket=case.ticket,
        case=case.id,
        readings=readings,
        left_out=missed,
        hand_over=True,
        soak_hours=options.soak,
    )
    with run_kept(), stop_requests(STOPPING) as stopped:
        control = RunControl(on_event=tell, stopped=stopped)
        context = RunContext(host=host, plan=plan, knowledge=tables, control=control)
        saved = run_and_save(context, shop)
    found = compare(saved.loaded.runs)
    if options.json:
        print_json({"case": saved.case_folder, "report": saved.report_file, "hand_over": found})
    else:
        print_saved(saved, tables, False)
        print(words(found))
    return DONE


def _named(shop: Shop, ticket: str) -> Case:
    """The open case of a ticket. Raises Failure."""
    still_open = [e.case for e in shop.entries() if e.case is not None and e.case.closed is None]
    for case in still_open:
        if case.ticket == ticket:
            return case
    tickets = [case.ticket for case in still_open if case.ticket is not None]
    raise Failure(f"no open case has the ticket {ticket}{near(ticket, tickets)}")


def _guided(
    host: Host, options: argparse.Namespace
) -> tuple[tuple[Reading, ...], tuple[NotTested, ...]]:
    """The guided checks this machine has hardware for; all left out where nobody is there."""
    from livecheck.plan import Plan
    from livecheck.run import begin

    begun, _ = begin(host, Plan())
    table = knowledge.guided()
    offers = offered(begun.inventory, table)
    why = None
    if options.no_guided:
        why = "left out by the technician"
    elif options.source:
        why = "a recorded machine has nothing to press"
    elif not sys.stdin.isatty():
        why = "nobody was at the terminal"
    if why is not None:
        return (), tuple(n for offer in offers for n in left_out(offer, why))
    from livecheck.guided import terminal
    from livecheck.guided.live import LiveBench

    return terminal.run(offers, table, knowledge.load(), host, LiveBench())


def words(found: HandOver | None) -> str:
    """What the comparison came to, in lines."""
    if found is None:
        return "\nHand-over: this is the case's only run, so there is nothing to hold it against."
    headline = "ready to be given back" if found.signed else "NOT signed off"
    lines = [f"\nHand-over: run {found.first} against run {found.last}: {headline}."]
    lines += [f"  {clean(reason)}" for reason in found.reasons]
    mended = [row for row in found.rows if row.held and row.state not in BARS]
    lines += [f"  {clean(row.name)}: {row.state.value}" for row in mended]
    return "\n".join(lines)
