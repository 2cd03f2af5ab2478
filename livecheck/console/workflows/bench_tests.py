"""Tests by the technician's hand: meters, flex test, guided checks, a drive's own test.

Each ends in a run of the case like any other, made by the worker. What a machine has
no hardware for is said, and costs no screen.
"""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Final

import msgspec

from livecheck import capture, drive_test, flex, guided, inventory, knowledge
from livecheck.casefile import place_names
from livecheck.console import case_files, steps, views
from livecheck.console.desk import Desk
from livecheck.console.frame import english_told
from livecheck.console.requests import SaveGiven
from livecheck.console.screens.flex import FlexScreen
from livecheck.console.screens.guided import Given, GuidedScreen
from livecheck.console.screens.meters import MetersScreen
from livecheck.console.screens.pick import ChooseScreen, ConfirmScreen
from livecheck.console.screens.self_test import SelfTestScreen
from livecheck.console.steps import Step
from livecheck.guided.live import LiveBench
from livecheck.guided.table import at_hand_over
from livecheck.host import Host
from livecheck.live_host import LiveHost
from livecheck.plan import Plan
from livecheck.records import Complaint, Inventory
from livecheck.worded import worded
from livecheck.wording import text

LENGTHS: Final = ("short", "long")


def host_of(desk: Desk) -> Host:
    """This machine, or the recorded one that is replayed."""
    return capture.load(desk.source) if desk.source is not None else LiveHost()


async def _inventory(host: Host) -> Inventory:
    return await asyncio.to_thread(inventory.take, host.scope("inventory"))


async def meters(desk: Desk) -> Step | None:
    """The meters; they only read."""
    await desk.push_screen(MetersScreen(host_of(desk)))
    return None


async def flex_test(desk: Desk, plan: Plan) -> Step | None:
    """Watch the jack power comes in at."""
    host = host_of(desk)
    found = await asyncio.to_thread(flex.supplies, host)
    if not found:
        return views.Notice(text("where.flex-test"), (text("ask.no-jack"),))
    caution = worded(knowledge.load()).cautions["mains"].text
    asks = text("ask.flex")
    if not await desk.ask(ConfirmScreen(text("where.flex-test"), asks, (caution,))):
        return None
    flexed = await desk.ask(FlexScreen(host, found[0]))
    return steps.Work(SaveGiven(plan, flexed.result)) if flexed is not None else None


async def guided_checks(desk: Desk, plan: Plan) -> Step | None:
    """The list of guided checks; its answers become a run."""
    given = await ask_guided(desk)
    return steps.Work(SaveGiven(with_given(plan, given))) if given is not None else None


async def ask_guided(desk: Desk, handing_over: Complaint | None = None) -> Given | None:
    """What the guided checks gave; None: they were left.

    ``handing_over``: complaint of the case, when they are those of a hand-over.
    """
    host, table = host_of(desk), knowledge.guided()
    cases = Path(desk.looked.shop) if desk.looked is not None else None
    found, own = await _inventory(host), {}
    if cases is not None:
        own = await asyncio.to_thread(place_names.of, cases, found.machine)
    offers = guided.offered(place_names.named(found, own), table, own)
    if handing_over is not None:
        offers = at_hand_over(offers, handing_over)
    given = await desk.ask(GuidedScreen(offers, table, worded(knowledge.load()), host, LiveBench()))
    if given is not None and given.called() and cases is not None:
        keep = case_files.keep_names
        trouble = await asyncio.to_thread(keep, cases, found.machine, given.called())
        desk.say_alarm("case", trouble)
    return given


def with_given(plan: Plan, given: Given) -> Plan:
    """The plan with what guided checks gave."""
    return msgspec.structs.replace(plan, readings=given.readings(), left_out=given.left_out())


async def self_test(desk: Desk, plan: Plan) -> Step | None:
    """Choose a drive and a length; what it will do is said before it is asked."""
    host = host_of(desk)
    found = await _inventory(host)
    items = [
        (f"{kind} {block}", f"{part.name} ({block}): {text(f'ask.self-test-{kind}')}")
        for block, part in drive_test.drives(found).items()
        for kind in LENGTHS
    ]
    where = text("where.self-test-of-a-drive")
    if not items:
        return views.Notice(where, (text("ask.no-drive"),))
    what = await desk.ask(ChooseScreen(where, text("ask.self-test"), items))
    if what is None:
        return None
    kind, _, block = what.partition(" ")
    try:
        part, node = drive_test.find(found, host, block)
        state = await asyncio.to_thread(drive_test.offer, host, node)
    except drive_test.NotPossible as error:
        return views.Notice(where, (str(error),))
    says, *heed = drive_test.explained(part, state, kind, worded(knowledge.load()), "X")
    asks = f"{english_told(says)}\n{text('ask.begins')}"
    if not await desk.ask(ConfirmScreen(where, asks, heed)):
        return None
    result = await desk.ask(SelfTestScreen(host, part, node, state, kind))
    if result is None:
        return None
    if isinstance(result, str):
        return views.Notice(where, (result,))
    reading = drive_test.as_reading(result, part, node)
    return steps.Work(SaveGiven(msgspec.structs.replace(plan, readings=(reading,))))
