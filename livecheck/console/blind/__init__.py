"""The whole flow without a screen: spoken, and answered by three keys."""

from __future__ import annotations

import asyncio
import contextlib
import os
from collections.abc import Callable
from pathlib import Path
from typing import Final

from livecheck.casefile import ShopError, find_shop
from livecheck.console.blind.session import Session
from livecheck.console.link import WorkerLink
from livecheck.console.waiting import LOOKED_EVERY_SECONDS, WAITED_SECONDS, looked_for
from livecheck.inventory.sound import plays
from livecheck.judgement import own_tables
from livecheck.lamp_codes import Signal
from livecheck.languages import ENGLISH, adopt, spoken
from livecheck.live_host import LiveHost
from livecheck.voice.lamps import Lamps
from livecheck.voice.presses import KeyTerminal
from livecheck.voice.speech import Loudspeaker
from livecheck.voice.talk import Talk
from livecheck.wording import text

STDOUT: Final = 1
CARD_SECONDS: Final = 10.0


def run(
    shop: Path | None, source: Path | None, because: str | None, language: str | None = None
) -> bool:
    """Play it on this machine; True: the screen is to take over.

    ``language``: None: what the shop's file says, English until it was read.
    """
    link = WorkerLink(shop, source)
    link.language = language
    return asyncio.run(_play(link, shop, because, source is not None))


async def _play(link: WorkerLink, shop: Path | None, because: str | None, replayed: bool) -> bool:
    host = LiveHost()
    with Lamps(host) as lamps:
        async with KeyTerminal() as presses:
            talk = Talk(Loudspeaker(host), presses, lamps, _show)
            session = Session(talk, link, replayed)
            try:
                talk.signal(Signal.WORKING)
                # At a start drivers come one by one; without a card nobody hears what is said.
                await _until(lambda: any(plays(host)), CARD_SECONDS)
                await _wait_for_drive(talk)
                if link.language is None:
                    adopt(await asyncio.to_thread(_language_of, shop))
                    link.language = spoken()
                await session.play(because)
            finally:
                await link.end()
    return session.to_screen


async def _wait_for_drive(talk: Talk) -> None:
    if not await asyncio.to_thread(looked_for):
        await talk.say(text("voice.waiting"))
        await _until(looked_for, WAITED_SECONDS)


def _language_of(shop: Path | None) -> str:
    """What the shop's file says; English where it cannot be read."""
    try:
        return own_tables(find_shop(LiveHost(), shop).root)[0].shop.language
    except (ShopError, OSError):
        return ENGLISH


async def _until(there: Callable[[], bool], seconds: float) -> None:
    """Wait for something, for so long at most."""
    waited = 0.0
    while waited < seconds and not await asyncio.to_thread(there):
        await asyncio.sleep(LOOKED_EVERY_SECONDS)
        waited += LOOKED_EVERY_SECONDS


def _show(words: str) -> None:
    # Nobody need be there to read it: a terminal that hung up answers EIO.
    with contextlib.suppress(OSError):
        os.write(STDOUT, f"{words}\n".encode())
