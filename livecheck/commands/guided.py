"""Guided checks at the terminal; their readings become a run of the machine's case."""

from __future__ import annotations

import argparse
import sys

from livecheck import knowledge
from livecheck.casefile import find_shop, place_names
from livecheck.commands.common import DONE, Failure, Subparsers, UsageError, common
from livecheck.commands.files import read_tables, run_kept
from livecheck.commands.language import telling
from livecheck.commands.output import print_json, print_saved
from livecheck.guided import GuideOffer, offered
from livecheck.live_host import LiveHost
from livecheck.near import near
from livecheck.worded import worded
from livecheck.worded_forms import guide_title
from livecheck.wording import figure


def add(commands: Subparsers) -> None:
    """Add ``guided``."""
    guided = commands.add_parser("guided", help="checks by hand, eye and ear, saved into the case")
    guided.add_argument("--only", metavar="A,B", help="only these checks")
    guided.add_argument("--list", action="store_true",
                        help="what this machine has the hardware for")  # fmt: skip
    guided.add_argument("--ticket", help="the shop's own number for this job")
    common(guided, _run)


def chosen(offers: tuple[GuideOffer, ...], only: str | None) -> tuple[GuideOffer, ...]:
    """The checks that were named, or all. Raises UsageError for a name there is none of."""
    if only is None:
        return offers
    names = [name for name in only.split(",") if name]
    known = {row.name for row in knowledge.guided().check}
    for name in names:
        if name not in known:
            raise UsageError(f"no guided check named {name}{near(name, known)}")
    found = tuple(o for o in offers if o.row.name in names)
    if not found:
        raise Failure(f"this machine has no hardware for {', '.join(names)} (see guided --list)")
    return found


def _run(options: argparse.Namespace) -> int:
    from livecheck.commands import guided_terminal as terminal
    from livecheck.guided.live import LiveBench
    from livecheck.plan import Plan
    from livecheck.run import begin
    from livecheck.saving import given_run, save

    live = LiveHost()
    shop = find_shop(live, options.shop)
    begun = place_names.renamed(begin(live, Plan())[0], place_names.known(shop.cases_folder))
    table, machine = knowledge.guided(), begun.inventory.machine
    named = place_names.of(shop.cases_folder, machine)
    offers = chosen(offered(begun.inventory, table, named), options.only)
    tables = read_tables(shop.root)
    if options.list:
        with telling():
            _list(offers, options.json)
        return DONE
    if not sys.stdin.isatty():
        raise UsageError("guided checks need a technician at the terminal (see guided --list)")
    with telling():
        found = terminal.run(offers, table, worded(tables), live, LiveBench())
    readings, missed, called = found
    plan = Plan(ticket=options.ticket, readings=readings, left_out=missed)
    run, messages = given_run(live, plan)
    with run_kept(options):
        saved = save(run, plan, tables, shop, messages)
    place_names.keep_told(shop.cases_folder, machine, called)
    print_saved(saved, tables, options.json)
    return DONE


def _list(offers: tuple[GuideOffer, ...], as_json: bool) -> None:
    rows = [
        {"name": o.row.name, "title": o.title, "check": o.row.becomes, "minutes": o.row.minutes,
         "at": [t.component for t in o.targets]}
        for o in offers
    ]  # fmt: skip
    if as_json:
        print_json(rows)
        return
    for one in offers:
        print(f"{one.row.name:14} {guide_title(one)} ({figure(one.row.minutes)} min)")
