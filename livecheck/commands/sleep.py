"""Sleeping and waking by the clock: explained, agreed to, done, looked at afterwards."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from typing import Final

from livecheck import sleep_test
from livecheck.commands.common import DONE, Failure, Subparsers, UsageError, common
from livecheck.commands.files import read_tables, run_kept
from livecheck.commands.language import telling
from livecheck.commands.output import agreed, print_saved, say
from livecheck.worded import worded

MOST_TIMES: Final = 100
SHORTEST: Final = 5
LONGEST: Final = 3600


def add(commands: Subparsers) -> None:
    """Add ``sleep``."""
    parser = commands.add_parser(
        "sleep", help="put the machine to sleep, wake it by its clock, see what is gone (asks)"
    )
    parser.add_argument("--times", type=int, default=3, help="how often (3)")
    parser.add_argument("--seconds", type=int, default=20, help="how long each time (20)")
    parser.add_argument("--yes", action="store_true", help="do not ask")
    parser.add_argument("--ticket", help="the shop's own number for this job")
    common(parser, _sleep)


def _sleep(options: argparse.Namespace) -> int:
    from livecheck.casefile import find_shop
    from livecheck.live_host import LiveHost
    from livecheck.plan import Plan, SleepAsked
    from livecheck.sleep_run import sleep_and_save

    if not 1 <= options.times <= MOST_TIMES or not SHORTEST <= options.seconds <= LONGEST:
        raise UsageError(f"1 to {MOST_TIMES} times, {SHORTEST} to {LONGEST} seconds each")
    if not options.yes and not sys.stdin.isatty():
        raise UsageError("nobody is there to be asked; --yes begins without asking")
    host = LiveHost()
    shop = find_shop(host, options.shop)
    tables = read_tables(shop.root)
    try:
        how = sleep_test.kind(host)
        with telling():
            explained = sleep_test.explained(options.times, options.seconds, how, worded(tables))
        if not agreed(explained, yes=options.yes):
            say("Nothing was done.")
            return DONE
        asked = SleepAsked(times=options.times, seconds=options.seconds)
        plan = Plan(ticket=options.ticket)
        with run_kept(options):
            saved = sleep_and_save(host, shop, plan, asked, _on_nap(options.times))
    except sleep_test.CannotSleep as error:
        raise Failure(str(error)) from error
    print_saved(saved, tables, options.json)
    return DONE


def _on_nap(times: int) -> Callable[[int, sleep_test.Nap], None]:
    def tell(number: int, nap: sleep_test.Nap) -> None:
        words = "woke" if nap.slept else f"did not sleep: {nap.trouble or 'woke early'}"
        say(f"  {number} of {times}: it {words}")

    return tell
