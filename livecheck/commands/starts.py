"""Starting again and again: explained, agreed to, and gone on with by each start itself."""

from __future__ import annotations

import argparse
import select
import sys
import termios
import time
import tty
from typing import TYPE_CHECKING, Final

from livecheck.commands.common import DONE, Failure, Subparsers, UsageError, common
from livecheck.commands.files import read_tables, run_kept
from livecheck.commands.language import telling
from livecheck.commands.output import agreed, print_saved, say
from livecheck.worded import worded

if TYPE_CHECKING:
    from livecheck.casefile import Shop
    from livecheck.plan import Plan
    from livecheck.records import Knowledge
    from livecheck.starts.planned import StartsPlan

COUNTDOWN_SECONDS: Final = 15
SHORTEST: Final = 20


def add(commands: Subparsers) -> None:
    """Add ``starts``."""
    parser = commands.add_parser(
        "starts", help="restart the machine again and again, count which starts fail (asks)"
    )
    parser.add_argument("--warm", type=int, default=0, help="restarts (0)")
    parser.add_argument("--cold", type=int, default=0, help="switched off and on by its clock (0)")
    parser.add_argument("--seconds", type=int, default=60, help="off before a cold start (60)")
    parser.add_argument("--failed", type=int, help="counted by hand: so many did not come")
    parser.add_argument("--of", type=int, help="of so many that were switched on by hand")
    parser.add_argument("--go-on", action="store_true", help="what a start does that was ordered")
    parser.add_argument("--yes", action="store_true", help="do not ask")
    parser.add_argument("--ticket", help="the shop's own number for this job")
    common(parser, _starts)


def _starts(options: argparse.Namespace) -> int:
    from livecheck.casefile import find_shop
    from livecheck.live_host import LiveHost

    shop = find_shop(LiveHost(), options.shop)
    tables = read_tables(shop.root)
    if options.go_on:
        return _go_on(options, shop, tables)
    if options.failed is not None or options.of is not None:
        return _by_hand(options, shop, tables)
    return _begin(options, shop, tables)


def _begin(options: argparse.Namespace, shop: Shop, tables: Knowledge) -> int:
    from livecheck.live_host import LiveHost
    from livecheck.plan import Plan
    from livecheck.starts import course, planned

    counts = (options.warm, options.cold)
    if not all(0 <= n <= planned.MOST for n in counts) or not any(counts):
        raise UsageError(f"--warm N, --cold N, or both: up to {planned.MOST}")
    if not SHORTEST <= options.seconds <= planned.LONGEST_SECONDS:
        raise UsageError(f"--seconds: {SHORTEST} to {planned.LONGEST_SECONDS}")
    if not options.yes and not sys.stdin.isatty():
        raise UsageError("nobody is there to be asked; --yes begins without asking")
    host, plan = LiveHost(), Plan(ticket=options.ticket)
    asked = planned.StartsPlan(warm=options.warm, cold=options.cold, alarm=options.seconds)
    try:
        course.ready(host, options.cold)
        with telling():
            explained = course.explained(asked, worded(tables))
        if not agreed(explained, yes=options.yes):
            say("Nothing was done.")
            return DONE
        shop.ensure_writable()
        course.order(host, *course.begin(host, shop.cases_folder, asked, plan))
    except course.CannotStart as error:
        raise Failure(str(error)) from error
    raise Failure(course.STAYS_ON)


def _go_on(options: argparse.Namespace, shop: Shop, tables: Knowledge) -> int:
    """What the last start came to; then the next one, unless a key is pressed."""
    import msgspec

    from livecheck.live_host import LiveHost
    from livecheck.plan import Plan
    from livecheck.recorder import aftermath
    from livecheck.starts import course, judged, notes, planned

    host = LiveHost()
    found = notes.find(shop.cases_folder, aftermath.machine(host))
    if found is None:
        return DONE
    path, plan = found[0], course.arrive(host, shop.cases_folder, *found)
    for line in judged.so_far(plan):
        say(line)
    if planned.following(plan) is not None:
        if not _stopped():
            try:
                course.order(host, path, plan)
            except course.CannotStart as error:
                say(str(error))
        plan = msgspec.structs.replace(plan, stopped=True)
        notes.save(path, plan)
    if plan.starts:
        case = plan.case if shop.named(plan.case) is not None else None
        about = Plan(case=case, ticket=plan.ticket, complaint=plan.complaint)
        _save(options, shop, tables, _judged(about, plan))
    notes.close(shop.cases_folder, path)
    return DONE


def _judged(about: Plan, plan: StartsPlan) -> Plan:
    import msgspec

    from livecheck.starts import judged

    return msgspec.structs.replace(
        about, readings=judged.readings(plan), left_out=judged.not_tested(plan)
    )


def _by_hand(options: argparse.Namespace, shop: Shop, tables: Knowledge) -> int:
    from livecheck.plan import Plan
    from livecheck.starts import judged, planned

    failed, of = options.failed, options.of
    if failed is None or of is None or not 0 <= failed <= of or not 1 <= of <= 10 * planned.MOST:
        raise UsageError("--failed K --of N: so many of so many did not come")
    kind = planned.StartKind.COLD
    reading = judged.counted(kind, (failed, 0), of, source="counted by hand")
    _save(options, shop, tables, Plan(ticket=options.ticket, readings=(reading,)))
    return DONE


def _save(options: argparse.Namespace, shop: Shop, tables: Knowledge, plan: Plan) -> None:
    from livecheck.live_host import LiveHost
    from livecheck.saving import given_run, save

    run, messages = given_run(LiveHost(), plan)
    with run_kept(options):
        saved = save(run, plan, tables, shop, messages)
    print_saved(saved, tables, options.json)


def _stopped() -> bool:
    """Whether a key is pressed before the next start."""
    for left in range(COUNTDOWN_SECONDS, 0, -1):
        say(f"The next start in {left} s; any key stops here.", end="  \r")
        if _key(1.0):
            say("")
            return True
    say("")
    return False


def _key(seconds: float) -> bool:
    if not sys.stdin.isatty():
        time.sleep(seconds)
        return False
    before = termios.tcgetattr(sys.stdin)
    try:
        tty.setcbreak(sys.stdin, termios.TCSANOW)
        pressed = bool(select.select([sys.stdin], [], [], seconds)[0])
        if pressed:
            termios.tcflush(sys.stdin, termios.TCIFLUSH)
        return pressed
    finally:
        termios.tcsetattr(sys.stdin, termios.TCSANOW, before)
