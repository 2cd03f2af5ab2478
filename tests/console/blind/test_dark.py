"""A dark machine from its first start to its last by ear alone, in the order of the trade.

Looks from outside first (external screen, torch, lid), then the lead reseated at both ends, then
another panel (common practice, no source). Each story was written down before it was played.
"""

from __future__ import annotations

import asyncio
import gzip
from pathlib import Path
from typing import Final

import msgspec
import pytest

from livecheck.casefile import Shop
from livecheck.console.blind.run import LISTEN_SECONDS
from livecheck.console.blind.session import Session
from livecheck.console.link import WorkerLink
from livecheck.judgement import locate_case
from livecheck.knowledge import load
from livecheck.records import Location
from livecheck.voice.presses import Press
from livecheck.voice.talk import Talk
from tests.console.blind.support import GONE, NO, YES, Recorder, Shown, recorded
from tests.testbeds.screens import with_panel

LOOKS: Final = {
    "External screen:": "outside",
    "The machine's own screen:": "own",
    "The lid through its angle:": "lid",
    "Beeps or blinks:": "code",
}


class Seen(msgspec.Struct, frozen=True):
    """What the eye sees in one start, by the choices of the worksheet."""

    outside: str = "picture"
    own: str = "nothing"
    lid: str = "stays as it is"
    code: str = "none"


class DarkMachine(msgspec.Struct, frozen=True, kw_only=True):
    """A machine without a picture, over three starts: as it came, lead reseated, other panel."""

    name: str
    starts: tuple[Seen, Seen, Seen]
    truth: str
    """Units that may lead after the last start."""
    first: str = "reseat: panel connector"
    """What is proposed once it was looked at."""


FAINT, RIGHT, LOOSE = Seen(own="faint"), Seen(own="picture"), Seen(lid="comes and goes")
DARK: Final = Seen()
STORIES: Final = (
    DarkMachine(name="the panel is dead", starts=(DARK, DARK, RIGHT), truth="panel"),
    DarkMachine(name="its light is out", starts=(FAINT, FAINT, RIGHT), truth="panel"),
    DarkMachine(name="the lead is broken", starts=(LOOSE, LOOSE, LOOSE), truth="panel-connector"),
    DarkMachine(
        name="a plug of the lead was loose", starts=(LOOSE, RIGHT, RIGHT), truth="contact panel"
    ),
    DarkMachine(
        name="no graphics",
        starts=(Seen(outside="dark"),) * 3,
        truth="mainboard memory-module",
        first="",
    ),
)


class Technician:
    """Answers by what is seen, does the step that was proposed, and does nothing else."""

    def __init__(self, seen: Seen, recorder: Recorder) -> None:
        self._seen, self._recorder = seen, recorder
        self._look = ""
        self.offered: list[str] = []
        """Steps that the program offered to do at once."""

    def waiting(self) -> bool:
        return False

    def forget(self) -> None:
        return None

    async def next(self, seconds: float | None) -> Press | None:
        if seconds == LISTEN_SECONDS:
            await asyncio.sleep(0.01)
            return None
        question = next(one for one in reversed(self._recorder.said) if "?" in one)
        self._look = next((name for says, name in LOOKS.items() if says in question), self._look)
        if "Is it: " in question:
            return YES if question.endswith(f"Is it: {getattr(self._seen, self._look)}?") else NO
        if "Shall it be " in question and " now" in question:
            self.offered.append(question)
            return YES if len(self.offered) < 4 else GONE
        if "Was that done?" in question:
            return YES
        return GONE if "Shall the verdict be said again" in question else NO


def heard(shop: Path, capture: Path, seen: Seen) -> tuple[list[str], list[str]]:
    """One start: what was said, and what was offered to be done at once."""

    async def play() -> tuple[list[str], list[str]]:
        recorder = Recorder()
        person = Technician(seen, recorder)
        talk = Talk(recorder, person, Shown(), lambda words: None)
        await Session(talk, WorkerLink(shop, capture), True).play(None)
        return recorder.said, person.offered

    return asyncio.run(play())


def later(capture: Path, hours: int) -> Path:
    """A recorded machine's clock stands still; between two starts work is done."""
    told = gzip.decompress(capture.read_bytes())
    at = f"2026-03-02T{9 + hours:02}:00:00".encode()
    capture.write_bytes(gzip.compress(told.replace(b"2026-03-02T09:00:00", at), 1))
    return capture


def verdict(shop: Path) -> Location:
    """As the case on the drive is judged."""
    (entry,) = Shop(shop).entries()
    folder = Shop(shop).named(entry.case.id if entry.case else None)
    assert folder is not None
    return locate_case(folder.load(), load())


def units(found: Location) -> dict[str, float]:
    """Probability of all that is ordered as one unit; a contact is ordered as none."""
    shares: dict[str, float] = {}
    for one in found.candidates:
        unit = one.kind if one.kind == "contact" else one.unit
        shares[unit] = shares.get(unit, 0.0) + one.probability
    return shares


@pytest.mark.slow
@pytest.mark.parametrize("story", STORIES, ids=lambda story: story.name)
def test_a_dark_machine(story: DarkMachine, tmp_path: Path) -> None:
    shop, captures = tmp_path / "shop", tmp_path / "captures"
    shop.mkdir()
    captures.mkdir()
    own, other = with_panel(), with_panel(serial=0x99)
    for number, (bed, seen) in enumerate(zip((own, own, other), story.starts, strict=True)):
        said, offered = heard(shop, later(recorded(captures, bed), number), seen)
        for look in LOOKS:
            assert any(look in one for one in said), f"start {number + 1}: {look} is asked"
        assert len(offered) == len(set(offered)), "what was just looked at is not offered again"
        assert not any("external measurement" in one for one in offered), "a meter takes hands"
        if number == 0 and story.first:
            steps = [one for one in said if one.startswith("Next step: ")]
            assert steps[-1].startswith(f"Next step: {story.first}")
            assert "both ends" in steps[-1], "a lead has two plugs"
            assert any("thin glass" in one for one in said)
        if number == 2:
            assert any("panel connector: swapped" in one for one in said)
    shares = units(verdict(shop))
    assert max(shares, key=lambda unit: shares[unit]) in story.truth.split(), shares
