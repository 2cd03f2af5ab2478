"""The flex test from the command line: large letters and a tone, or lines for programs."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Final

from livecheck import bigtext
from livecheck.commands.common import DONE, Failure, Subparsers, UsageError, common
from livecheck.commands.files import read_tables, run_kept
from livecheck.commands.language import telling
from livecheck.commands.output import print_json, print_saved, told
from livecheck.commands.stopping import stop_requests
from livecheck.worded import worded
from livecheck.wording import clean, text

if TYPE_CHECKING:
    from livecheck.flex import FlexResult, Look, Supply
    from livecheck.host import Host
    from livecheck.records import Knowledge

CAUTIONS: Final = ("mains",)
SPARE: Final = "bench spare"
"""What a known-good adapter is called here."""
LEAST_SECONDS: Final = 10.0
NO_JACK: Final = (
    "this machine tells of no power jack, so losses cannot be counted (measure at the plug with "
    "a meter while the lead is moved: the worksheet asks for it)"
)


def add(commands: Subparsers) -> None:
    """Add ``flex``."""
    parser = commands.add_parser("flex", help="count losses of power while plug and lead are moved")
    parser.add_argument("--seconds", type=float, metavar="N", help="watch so long, then end")
    parser.add_argument("--supply", metavar="NAME", help="the jack to watch (AC, ADP1)")
    parser.add_argument("--adapter", metavar="LABEL", help="what this adapter is called here")
    parser.add_argument("--known-good", action="store_true", help="the shop vouches for it")
    parser.add_argument("--compare", action="store_true",
                        help="then again with a known-good adapter: adapter or jack?")  # fmt: skip
    parser.add_argument("--ticket", help="the shop's own number for this job")
    parser.add_argument("--no-save", action="store_true", help="only show, keep nothing")
    common(parser, _flex)


def _flex(options: argparse.Namespace) -> int:
    from livecheck import flex
    from livecheck.casefile import find_shop
    from livecheck.live_host import LiveHost

    host = LiveHost()
    supply = _chosen(flex.supplies(host), options.supply)
    if (options.seconds is None or options.compare) and not sys.stdin.isatty():
        raise UsageError("nobody is there to end it or to change adapters; give --seconds alone")
    shop = find_shop(host, options.shop)
    tables = read_tables(shop.root)
    large = sys.stderr.isatty() and not options.json
    _say_first(supply, tables)
    result = _watch(host, supply, options.seconds, _Screen(large)).result(options.adapter)
    _keep(options, host, result, options.known_good)
    if options.compare:
        _say(f"Plug the known-good adapter in at {supply.name}, then press Enter.")
        sys.stdin.readline()
        seconds = max(result.seconds, LEAST_SECONDS)
        good = _watch(host, supply, seconds, _Screen(large)).result(SPARE)
        _keep(options, host, good, True)
        found = flex.compare(result, good)
        print(told(f"{found.says} At fault: {found.at_fault}."))
    return DONE


def _keep(options: argparse.Namespace, host: Host, result: FlexResult, known_good: bool) -> None:
    if options.no_save:
        _print(result, options.json)
    else:
        _save(options, host, result, known_good)


def _save(options: argparse.Namespace, host: Host, result: FlexResult, known_good: bool) -> None:
    from livecheck import flex
    from livecheck.casefile import find_shop
    from livecheck.plan import Plan
    from livecheck.records import PartIs
    from livecheck.run import begin
    from livecheck.saving import given_run, save

    shop = find_shop(host, options.shop)
    tables = read_tables(shop.root)
    begun, _ = begin(host, Plan())
    found = flex.readings(result, begun.inventory, tables.checks[flex.CHECK].limits)
    name, at = result.label, found[0].at
    answers = (PartIs(place=at, name=name, known_good=known_good),) if name else ()
    plan = Plan(ticket=options.ticket, answers=answers, readings=found)
    run, messages = given_run(host, plan)
    with run_kept(options):
        saved = save(run, plan, tables, shop, messages)
    if options.json:
        print_json({"flex": result, "run": saved.run.number, "case": saved.case_folder})
    else:
        _print(result, False)
        print_saved(saved, tables, False)


def _chosen(found: tuple[Supply, ...], name: str | None) -> Supply:
    """The jack meant: the one named, else the one power comes in at. Raises Failure."""
    if not found:
        raise Failure(NO_JACK)
    for supply in found:
        if supply.name == name:
            return supply
    if name is not None:
        raise Failure(f"no jack {name} here (there are: {', '.join(s.name for s in found)})")
    return found[0]


def _say_first(supply: Supply, tables: Knowledge) -> None:
    with telling():
        cautions = [worded(tables).cautions[name].text for name in CAUTIONS]
        heed = [text("console.caution", says=one) for one in cautions]
    for one in heed:
        _say(one)
    _say(
        f"Watching {supply.name}. Move the plug in the jack, then bend the lead at both ends, a "
        "hand's breadth at a time. The battery must be charged: without one the first loss "
        "switches the machine off. Ctrl+C ends it."
    )
    if not supply.online:
        _say("No power comes in now: plug the adapter in.")


def _watch(host: Host, supply: Supply, seconds: float | None, screen: _Screen) -> Look:
    from livecheck import flex

    with stop_requests() as stopped:
        for look in flex.watch(host, supply, seconds, stopped):
            screen.show(look)
    screen.end()
    return look


class _Screen:
    """Standard error: a screen of large letters, or a line a change."""

    def __init__(self, large: bool) -> None:
        self._large = large
        self._drawn: tuple[bool, int] | None = None

    def show(self, look: Look) -> None:
        """Draw what changed; the tone is the terminal's bell, once a loss."""
        from livecheck.flex.readings import line

        now = (look.lost, look.count)
        if now == self._drawn:
            return
        tone = "\a" if look.lost and self._drawn is not None else ""
        first, self._drawn = self._drawn is None, now
        if not self._large:
            if not first:
                words = "NO POWER" if look.lost else f"power back, {line(look.losses[-1])}" \
                    if look.losses else "power"  # fmt: skip
                _say(f"  {look.seconds:8.2f} s  {told(words)}{tone}")
            return
        with telling():
            word = text("flexed.no-power" if look.lost else "flexed.power")
        rows = [*_large(word), "", told(f"Losses: {look.count}"), *_large(str(look.count)), ""]
        rows += [told(line(loss)) for loss in look.losses[-5:]]
        # Clear, and begin at the top left (ECMA-48).
        sys.stderr.write("\x1b[2J\x1b[H" + "\r\n".join(rows) + f"\r\n{tone}")
        sys.stderr.flush()

    def end(self) -> None:
        """Leave the screen as it stands."""
        if self._large:
            sys.stderr.write("\r\n")


def _large(word: str) -> list[str]:
    """A word to be read from across the bench, its dots about as wide as they are high."""
    return bigtext.drawn(word, across=2)


def _print(result: FlexResult, as_json: bool) -> None:
    from livecheck.flex.readings import line, says

    if as_json:
        print_json({"flex": result})
        return
    print(clean(told(says(result))))
    for loss in result.losses:
        print(clean(told(f"  {line(loss)}")))


def _say(words: str) -> None:
    bell = "\a" if words.endswith("\a") else ""
    print(clean(told(words.removesuffix("\a"))) + bell, file=sys.stderr, flush=True)
