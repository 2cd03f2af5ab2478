"""What is told once a proposed step was done by hand: for console and command line. Pure.

A swap, a move and a removal show by the numbers that parts carry; of the rest no sensor
knows, and it has to be told in words that ``records.answer_words`` understands.
"""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from typing import Final

import msgspec

from livecheck.diagnosis.steps.actions import Action
from livecheck.records import NextStep, Place, Run
from livecheck.topology.configuration import made_for
from livecheck.topology.ids import ComponentId

_WORDS: Final = {
    Action.POWER_AWAY: "machine=all power away",
    Action.INSPECT: "machine=looked inside",
    Action.REFLASH: "{target}=re-flashed",
    Action.CLEAN: "{target}=cleaned",
    Action.EXCHANGE_LEAD: "{target}=repaired",
    Action.SETTING: "{target}=set",
    Action.REPAIR_SYSTEM: "{target}=repaired",
}
_SPARE: Final = "{target}=known-good spare"
_NEW: Final = "{target}=new part"
_REPAIRED: Final = "{target}=repaired"


class Telling(msgspec.Struct, frozen=True, kw_only=True):
    """What the next run is told."""

    reseated: tuple[str, ...] = ()
    """Ids of places."""
    answers: tuple[str, ...] = ()
    """Each as ``ABOUT=WORDS``."""
    elsewhere: bool = False
    """True: the next run is made in a known-good machine."""

    @property
    def options(self) -> str:
        """The same as options of ``livecheck run``."""
        words = [word for place in self.reseated for word in ("--reseated", place)]
        words += [word for answer in self.answers for word in ("--answer", answer)]
        return shlex.join([*words, *(["--in-known-good-machine"] if self.elsewhere else [])])


def telling(step: NextStep, runs: Sequence[Run]) -> Telling | None:
    """What to tell; None where it shows by itself, or only the technician can name it."""
    action, target = step.action, step.target
    if action in (Action.RESEAT, Action.CLEAN_CONTACTS):
        return Telling(reseated=(target,))
    if action == Action.KNOWN_GOOD_MACHINE:
        return Telling(elsewhere=True)
    if action in (Action.SWAP, Action.REPLACE):
        words = _exchanged(target, runs, _SPARE if action == Action.SWAP else _NEW)
    else:
        words = next((words for known, words in _WORDS.items() if known == action), None)
    if words is None:
        return None
    place = (step.to,) if action == Action.EXCHANGE_LEAD and step.to is not None else ()
    return Telling(reseated=place, answers=(words.format(target=target),))


def _exchanged(target: str, runs: Sequence[Run], part: str) -> str | None:
    """The words where what goes out carries no number: a part's, else those of a repair."""
    for run in reversed(runs):
        inventory = run.inventory
        for fitted in inventory.parts:
            if fitted.id == target:
                return None if fitted.identity else part
        if any(place.id == target for place in inventory.places):
            return _REPAIRED
        # What does not answer has no row: it is known by its place, and by nothing once it is out.
        if any(target == _unseen(place) for place in inventory.places):
            return part
    return None


def _unseen(place: Place) -> str:
    """Id of the part that must be in a place and does not answer."""
    return str(ComponentId(kind=made_for(place), place=place.id))
