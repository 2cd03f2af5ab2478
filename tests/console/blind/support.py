"""A technician who hears and presses keys; the loudspeaker's place is taken by a recorder."""

from __future__ import annotations

import asyncio
import gzip
from collections import deque
from collections.abc import AsyncIterator, Callable, Sequence
from pathlib import Path

import msgspec

from livecheck import demo, languages
from livecheck.console.blind.run import LISTEN_SECONDS
from livecheck.console.blind.session import Session
from livecheck.console.link import WorkerLink
from livecheck.console.replies import Reply
from livecheck.console.requests import Job, SwitchOff
from livecheck.lamp_codes import Signal
from livecheck.voice.presses import Press
from livecheck.voice.talk import Talk
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents

CAPTURES = Path(demo.__file__).parent
YES, NO, AGAIN, OTHER, GONE = Press.YES, Press.NO, Press.AGAIN, Press.OTHER, Press.GONE


class Recorder:
    """Takes the loudspeaker's place, or that of one that fails."""

    def __init__(self, trouble: str | None = None) -> None:
        self.said: list[str] = []
        self.trouble = trouble

    def say(self, sentence: str, stopped: Callable[[], bool]) -> str | None:
        if self.trouble is None:
            self.said.append(sentence)
        return self.trouble


class InRun(msgspec.Struct, frozen=True):
    """A press while a run goes on."""

    press: Press


Listed = Sequence[Press | InRun | None]


class Fingers:
    """Presses as listed, each once it is asked for; None: no key in that time.

    After the last one nobody is there any more.
    """

    def __init__(self, listed: Listed) -> None:
        self.left = deque(listed)
        self.waits: list[float | None] = []

    def waiting(self) -> bool:
        return False

    def forget(self) -> None:
        return None

    async def next(self, seconds: float | None) -> Press | None:
        first = self.left[0] if self.left else GONE
        if seconds == LISTEN_SECONDS:
            await asyncio.sleep(0.01)
            if not isinstance(first, InRun):
                return None
            self.left.popleft()
            return first.press
        self.waits.append(seconds)
        assert not isinstance(first, InRun), "asked while no run goes on"
        if self.left:
            self.left.popleft()
        return first


class Shown:
    """What lamps and speaker were to tell."""

    def __init__(self) -> None:
        self.told: list[tuple[Signal, bool]] = []

    def show(self, signal: Signal, beeps: bool) -> None:
        self.told.append((signal, beeps))


class Heard(msgspec.Struct, frozen=True, kw_only=True):
    """What came of a start without a screen."""

    said: list[str]
    printed: list[str]
    codes: list[tuple[Signal, bool]]
    to_screen: bool
    keys_left: int
    waits: list[float | None]

    def after(self, sentence: str) -> list[str]:
        """What was said from the first sentence on that holds these words."""
        at = next(n for n, one in enumerate(self.said) if sentence in one)
        return self.said[at:]


def recorded(folder: Path, bed: Bed) -> Path:
    """A capture of an invented laptop."""
    file = folder / f"{len(list(folder.iterdir()))}.capture.gz"
    file.write_bytes(gzip.compress(contents(bed), 1, mtime=0))
    return file


def start(
    shop: Path,
    capture: str | Path,
    keys: Listed = (),
    trouble: str | None = None,
    because: str | None = None,
    language: str = languages.ENGLISH,
) -> Heard:
    """Start it on a recorded machine."""

    async def play() -> Heard:
        recorder, fingers, shown = Recorder(trouble), Fingers(keys), Shown()
        printed: list[str] = []
        link = WorkerLink(shop, CAPTURES / capture)
        link.language = language
        session = Session(Talk(recorder, fingers, shown, printed.append), link, True)
        await session.play(because)
        return Heard(
            said=recorder.said, printed=printed, codes=shown.told, to_screen=session.to_screen,
            keys_left=len(fingers.left), waits=fingers.waits,
        )  # fmt: skip

    languages.adopt(language)
    try:
        return asyncio.run(play())
    finally:
        languages.adopt(languages.ENGLISH)


class Switch(WorkerLink):
    """A worker that would switch this machine off, and only notes it."""

    def __init__(self, shop: Path, source: Path) -> None:
        super().__init__(shop, source)
        self.off = 0

    async def ask(self, job: Job) -> AsyncIterator[Reply]:
        if isinstance(job, SwitchOff):
            self.off += 1
            return
        async for reply in super().ask(job):
            yield reply
