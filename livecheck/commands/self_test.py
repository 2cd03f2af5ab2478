"""The test a drive makes of itself: asked for by name, explained, followed, broken off."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from livecheck import drive_test
from livecheck.commands.common import DONE, Failure, Subparsers, UsageError, common
from livecheck.commands.files import read_tables, run_kept
from livecheck.commands.language import telling
from livecheck.commands.output import agreed, print_saved, say
from livecheck.worded import worded

if TYPE_CHECKING:
    from livecheck.drive_test import SelfTestState
    from livecheck.host import Host
    from livecheck.probes.finding import Finding


def add(commands: Subparsers) -> None:
    """Add ``self-test``."""
    parser = commands.add_parser("self-test", help="let a drive test itself (asks first)")
    parser.add_argument("drive", metavar="DEVICE", help="kernel name or node: sda, /dev/nvme0n1")
    parser.add_argument("--long", action="store_true", help="its whole medium: hours")
    parser.add_argument("--yes", action="store_true", help="do not ask")
    parser.add_argument("--ticket", help="the shop's own number for this job")
    common(parser, _self_test)


def _self_test(options: argparse.Namespace) -> int:
    from livecheck.casefile import find_shop
    from livecheck.live_host import LiveHost
    from livecheck.plan import Plan
    from livecheck.run import begin
    from livecheck.saving import given_run, save

    if not options.yes and not sys.stdin.isatty():
        raise UsageError("nobody is there to be asked; --yes begins the test without asking")
    host = LiveHost()
    shop = find_shop(host, options.shop)
    tables = read_tables(shop.root)
    kind = "long" if options.long else "short"
    run, _ = begin(host, Plan())
    try:
        part, node = drive_test.find(run.inventory, host, options.drive)
        state = drive_test.offer(host, node)
        with telling():
            explained = drive_test.explained(part, state, kind, worded(tables), "Ctrl+C")
        if not agreed(explained, yes=options.yes):
            say("Nothing was begun.")
            return DONE
        found = follow(host, node, state, kind)
    except drive_test.NotPossible as error:
        raise Failure(str(error)) from error
    reading = drive_test.as_reading(found, part, node)
    plan = Plan(ticket=options.ticket, readings=(reading,))
    run, messages = given_run(host, plan)
    with run_kept(options):
        saved = save(run, plan, tables, shop, messages)
    print_saved(saved, tables, options.json)
    return DONE


def follow(host: Host, node: str, before: SelfTestState, kind: str) -> Finding:
    """Begin a test and wait for its end; Ctrl+C breaks it off. Raises NotPossible."""
    said = ""
    try:
        for news in drive_test.course(host, node, before, kind):
            if not isinstance(news, drive_test.SelfTestState):
                return news
            words = drive_test.told(news)
            if words != said:
                say(f"  {words}")
                said = words
    except KeyboardInterrupt:
        found = drive_test.broken_off(host, node)
        say(f"  {found.why_not}")
        return found
    raise AssertionError("the course of a test ends with what it found")
