"""A run, followed by ear: announced before, asked how far it is, stopped by a key."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Mapping
from typing import Final

import msgspec

from livecheck import knowledge
from livecheck.console.link import WorkerLink
from livecheck.console.progress import RunProgress, in_words
from livecheck.console.replies import Happened, Reply
from livecheck.console.requests import RunOrder, TakeRun
from livecheck.console.steps import StartRun
from livecheck.lamp_codes import Signal
from livecheck.plan import Plan, planned_probes
from livecheck.probes import Probe
from livecheck.voice import sentences
from livecheck.voice.presses import Press
from livecheck.voice.talk import Asked, Talk
from livecheck.worded import worded
from livecheck.wording import text

START_SECONDS: Final = 10
"""Between what a run is going to load, and the load, for a hand to come to the keys."""
TOLD_EVERY_SECONDS: Final = 60.0
LISTEN_SECONDS: Final = 0.5


async def announced(talk: Talk, plan: Plan, replayed: bool) -> Plan:
    """Say what the run is going to do; the plan, without loads where they are not wanted."""
    probes = _made(plan, replayed)
    await talk.say(*sentences.before_run(plan, probes, worded(knowledge.load())))
    if all(probe.passive for probe in probes):
        return plan
    says = text("voice.start-loads", seconds=START_SECONDS)
    asked = Asked(says=says, otherwise=True, seconds=START_SECONDS, times=1)
    if await talk.ask(asked):
        await talk.say(text("voice.starts"))
        return plan
    await talk.say(text("voice.without-loads"), text("voice.starts"))
    looks = tuple(probe.name for probe in probes if probe.passive)
    return msgspec.structs.replace(plan, probes=looks, soak_hours=0.0)


async def follow(
    talk: Talk, link: WorkerLink, step: StartRun, called: Mapping[str, str]
) -> Reply | None:
    """Have the run made, and say how it goes on; what it came to.

    ``called``: names of components in the language that is spoken.
    """
    course = RunProgress(planned_probes(step.plan), step.lasted, step.plan.depth, time.monotonic)
    begun: list[str] = []
    worker = asyncio.create_task(_heard(link.ask(TakeRun(step.plan)), course, begun, called))
    loads = {probe.name for probe in planned_probes(step.plan) if not probe.passive}
    talk.signal(Signal.WORKING)
    told = time.monotonic()
    while not worker.done():
        pressed = None if talk.gone else await talk.key(LISTEN_SECONDS)
        if talk.gone:
            await asyncio.wait([worker], timeout=LISTEN_SECONDS)
        now, begun[:] = [name for name in begun if name in loads], []
        late = pressed is None and time.monotonic() > told + TOLD_EVERY_SECONDS
        if pressed is Press.AGAIN or now or late:
            await talk.say(course.told())
            told = time.monotonic()
        elif pressed is Press.NO:
            await _stopped(talk, link)
        elif pressed in (Press.YES, Press.OTHER):
            await talk.say(text("voice.in-run"))
    return worker.result()


async def _heard(
    replies: AsyncIterator[Reply],
    course: RunProgress,
    begun: list[str],
    called: Mapping[str, str],
) -> Reply | None:
    last = None
    async for reply in replies:
        if isinstance(reply, Happened):
            course.take(in_words(reply.event, called))
            begun += [reply.event.probe] if reply.event.kind == "started" else []
        else:
            last = reply
    return last


async def _stopped(talk: Talk, link: WorkerLink) -> None:
    if await talk.ask(Asked(says=text("voice.stop"))):
        link.order(RunOrder.STOP)
        await talk.say(text("voice.stopping"))
    talk.signal(Signal.WORKING)


def _made(plan: Plan, replayed: bool) -> tuple[Probe, ...]:
    """The probes of a run; a replay has no machine to load."""
    return tuple(one for one in planned_probes(plan) if one.passive or not replayed)
