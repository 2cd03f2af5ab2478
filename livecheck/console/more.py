"""What can be done besides a run: meters, flex test, guided checks, hand-over, outcome.

Each way ends in a run of the case like any other, made by the worker. What a machine has
no hardware for is said, and costs no screen.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final

import msgspec

from livecheck import capture, knowledge
from livecheck.console import opened
from livecheck.console.screens.pick import ChooseScreen, ConfirmScreen, Item, TellScreen
from livecheck.host import Host
from livecheck.live_host import LiveHost
from livecheck.plan import Plan

if TYPE_CHECKING:
    from livecheck.console.app import Console
    from livecheck.console.claims import Case
    from livecheck.console.screens.flex import Flexed
    from livecheck.console.screens.guided import Given
    from livecheck.probes.finding import Finding
    from livecheck.records import Inventory

MENU: Final[tuple[Item, ...]] = (
    ("meters", "Meters: heat, fans, power, battery, live"),
    ("flex", "Flex test: losses of power while plug and lead are moved"),
    ("guided", "Guided checks: keyboard, screen, sound, ports and the like"),
    ("self-test", "Self-test of a drive: the drive tests itself; you are asked first"),
)
OF_A_CASE: Final[tuple[Item, ...]] = (
    ("hand-over", "Hand-over: the last run before the machine goes back"),
    ("outcome", "Outcome: record what the repair proved, and close the case"),
)
NO_JACK: Final = (
    "This machine tells of no power jack, so losses cannot be counted. Measure at the plug with "
    "a meter while the lead is moved: the worksheet for no power asks for it."
)
NO_DRIVE: Final = "This machine shows no drive that could test itself."
SOAKS: Final[tuple[Item, ...]] = (
    ("0", "No soak: every probe once"),
    ("0.5", "Half an hour of load"),
    ("1", "1 hour of load"),
    ("2", "2 hours of load"),
    ("4", "4 hours of load"),
    ("12", "12 hours of load: over night"),
)


def menu(console: Console, case: Case | None) -> None:
    """Let the technician choose."""
    items = (*MENU, *(OF_A_CASE if case is not None else ()))

    def chosen(what: str | None) -> None:
        if what is not None:
            console.run_worker(_begin(console, case, what), group="more", exclusive=True)

    console.push_screen(ChooseScreen("more tests", "What else?", items), chosen)


async def _begin(console: Console, case: Case | None, what: str) -> None:
    if what == "meters":
        await meters(console)
    elif what == "flex":
        await flex_test(console, case)
    elif what == "guided":
        await guided_checks(console, case)
    elif what == "self-test":
        await self_test(console, case)
    elif what == "hand-over" and case is not None:
        await hand_over(console, case)
    elif what == "outcome" and case is not None:
        await outcome(console, case)


async def meters(console: Console) -> None:
    """The meters screen."""
    from livecheck.console.screens.meters import MetersScreen

    await console.push_screen(MetersScreen(host_of(console)))


def host_of(console: Console) -> Host:
    """This machine, or the recorded one that is replayed."""
    return capture.load(console.source) if console.source is not None else LiveHost()


def _plan(console: Console, case: Case | None) -> Plan:
    """A plan that goes on with the case in front, else with the one of the machine."""
    if case is not None:
        record = case.loaded.case
        return Plan(case=record.id, ticket=record.ticket, complaint=record.complaint)
    known = console.looked.known if console.looked is not None else None
    if known is not None:
        return Plan(case=known.case, ticket=known.ticket, complaint=known.complaint)
    return Plan(ticket=console.ticket, complaint=console.complaint)


async def flex_test(console: Console, case: Case | None) -> None:
    """Watch the jack power comes in at."""
    from livecheck import flex
    from livecheck.console.screens.flex import SAYS, FlexScreen

    host = host_of(console)
    found = await asyncio.to_thread(flex.supplies, host)
    if not found:
        await console.push_screen(TellScreen("flex test", (NO_JACK,)))
        return
    plan = _plan(console, case)

    def done(flexed: Flexed | None) -> None:
        if flexed is not None:
            console.save_asked(plan, flexed.result)

    def agreed(yes: bool | None) -> None:
        if yes:
            console.push_screen(FlexScreen(host, found[0]), done)

    caution = knowledge.load().cautions["mains"].text
    asks = f"{SAYS}\nY begins to watch, N goes back."
    await console.push_screen(ConfirmScreen("flex test", asks, (caution,)), agreed)


async def guided_checks(console: Console, case: Case | None) -> None:
    """The list of guided checks; its answers become a run."""
    plan = _plan(console, case)

    def done(given: Given | None) -> None:
        if given is not None:
            plan_now = msgspec.structs.replace(
                plan, readings=given.readings(), left_out=given.left_out()
            )
            console.save_asked(plan_now)

    await _push_guided(console, done)


async def _push_guided(console: Console, done: Callable[[Given | None], None]) -> None:
    from livecheck import guided, inventory
    from livecheck.console.screens.guided import GuidedScreen
    from livecheck.guided.live import LiveBench

    host = host_of(console)
    found = await asyncio.to_thread(inventory.take, host.scope("inventory"))
    table = knowledge.guided()
    offers = guided.offered(found, table)
    screen = GuidedScreen(offers, table, knowledge.load(), host, LiveBench())
    await console.push_screen(screen, done)


async def self_test(console: Console, case: Case | None) -> None:
    """Choose a drive and a length; what it will do is said before it is asked."""
    from livecheck import drive_test, inventory

    host = host_of(console)
    found = await asyncio.to_thread(inventory.take, host.scope("inventory"))
    items = [
        (f"{kind} {block}", f"{part.name} ({block}): {says}")
        for block, part in drive_test.drives(found).items()
        for kind, says in (("short", "short test, minutes"), ("long", "long test, hours"))
    ]
    if not items:
        await console.push_screen(TellScreen("self-test of a drive", (NO_DRIVE,)))
        return

    def chosen(what: str | None) -> None:
        if what is not None:
            kind, _, block = what.partition(" ")
            ask = _ask_drive(console, case, found, block, kind)
            console.run_worker(ask, group="more", exclusive=True)

    await console.push_screen(
        ChooseScreen("self-test of a drive", "Which drive, which test?", items), chosen
    )


async def _ask_drive(
    console: Console, case: Case | None, found: Inventory, block: str, kind: str
) -> None:
    from livecheck import drive_test
    from livecheck.console.screens.self_test import SelfTestScreen

    host = host_of(console)
    try:
        part, node = drive_test.find(found, host, block)
        state = await asyncio.to_thread(drive_test.offer, host, node)
    except drive_test.NotPossible as error:
        await console.push_screen(TellScreen("self-test of a drive", (str(error),)))
        return
    plan = _plan(console, case)

    def ended(result: Finding | str | None) -> None:
        if isinstance(result, str):
            console.push_screen(TellScreen("self-test of a drive", (result,)))
        elif result is not None:
            reading = drive_test.as_reading(result, part, node)
            console.save_asked(msgspec.structs.replace(plan, readings=(reading,)))

    def agreed(yes: bool | None) -> None:
        if yes:
            console.push_screen(SelfTestScreen(host, part, node, state, kind), ended)

    says, *cautions = drive_test.explained(part, state, kind, knowledge.load(), "X")
    asks = f"{says}\nY begins the test, N goes back."
    heed = [caution.removeprefix("CAUTION: ") for caution in cautions]
    await console.push_screen(ConfirmScreen("self-test of a drive", asks, heed), agreed)


async def hand_over(console: Console, case: Case) -> None:
    """Guided checks first, while somebody is there; then every probe, and a soak."""
    plan = _plan(console, case)

    def given_done(given: Given | None) -> None:
        if given is None:
            return
        asks = "How long shall processor and memory be loaded?"

        def soaked(hours: str | None) -> None:
            if hours is not None:
                console.begin(
                    msgspec.structs.replace(
                        plan,
                        readings=given.readings(),
                        left_out=given.left_out(),
                        hand_over=True,
                        soak_hours=float(hours),
                    )
                )

        console.push_screen(ChooseScreen("hand-over", asks, SOAKS), soaked)

    await _push_guided(console, given_done)


async def outcome(console: Console, case: Case) -> None:
    """What the repair proved: which component, and whether mending it mended the machine."""
    from livecheck.shelf import recording

    offered = recording.choices(case.loaded, case.location, case.tables)
    items = [(choice.component, choice.name) for choice in offered]
    proofs = (
        ("yes", "The machine is well now: it was this; the case is closed"),
        ("no", "The fault stayed: it was not this; the case stays open"),
    )

    def component_chosen(component: str | None) -> None:
        def proved(word: str | None) -> None:
            if word is not None and component is not None:
                console.record_outcome(case, component, word == "yes")

        if component is not None:
            console.push_screen(ChooseScreen("outcome", "What did it prove?", proofs), proved)

    await console.push_screen(
        ChooseScreen("outcome", "What was mended or replaced?", items), component_chosen
    )


def record(case: Case, component: str, proved: bool) -> str | None:
    """Keep an outcome in its case; a sentence where that failed."""
    from livecheck.casefile import CaseFolder
    from livecheck.casefile.shop import explain
    from livecheck.shelf import recording

    path = Path(case.report).parent
    offered = recording.choices(case.loaded, case.location, case.tables)
    chosen = recording.choose(component, offered)
    now = LiveHost().scope("session").facts().now
    try:
        result = recording.RepairResult(proved=proved, recorded=now)
        recording.record_outcome(CaseFolder(path), case.loaded, case.location, chosen, result)
    except OSError as error:
        return str(explain(error, path))
    return opened.write_report(path)
