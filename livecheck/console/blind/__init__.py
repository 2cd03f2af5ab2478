"""The whole flow without a screen: spoken, and answered by three keys."""

from __future__ import annotations

import asyncio
import contextlib
import os
from pathlib import Path
from typing import Final

from livecheck.console.blind.session import Session
from livecheck.console.link import WorkerLink
from livecheck.console.waiting import LOOKED_EVERY_SECONDS, WAITED_SECONDS, looked_for
from livecheck.live_host import LiveHost
from livecheck.voice.lamps import Lamps
from livecheck.voice.presses import KeyTerminal
from livecheck.voice.speech import Loudspeaker
from livecheck.voice.talk import Talk
from livecheck.wording import text

STDOUT: Final = 1


def run(shop: Path | None, source: Path | None, because: str | None) -> bool:
    """Play it on this machine; True: the screen is to take over."""
    return asyncio.run(_play(shop, source, because))


async def _play(shop: Path | None, source: Path | None, because: str | None) -> bool:
    host = LiveHost()
    link = WorkerLink(shop, source)
    with Lamps(host) as lamps:
        async with KeyTerminal() as presses:
            talk = Talk(Loudspeaker(host), presses, lamps, _show)
            session = Session(talk, link, source is not None)
            try:
                await _wait_for_drive(talk)
                await session.play(because)
            finally:
                await link.end()
    return session.to_screen


async def _wait_for_drive(talk: Talk) -> None:
    waited = 0.0
    while waited < WAITED_SECONDS and not await asyncio.to_thread(looked_for):
        if not waited:
            await talk.say(text("voice.waiting"))
        await asyncio.sleep(LOOKED_EVERY_SECONDS)
        waited += LOOKED_EVERY_SECONDS


def _show(words: str) -> None:
    # Nobody need be there to read it: a terminal that hung up answers EIO.
    with contextlib.suppress(OSError):
        os.write(STDOUT, f"{words}\n".encode())
