"""The words an answer is typed with, and what they stand for.

``understood`` reads ``ABOUT=WORDS`` (and what records of schema 1 hold); ``placed`` turns the
part it was said of into the place it sits in, once the inventory is known.
"""

from __future__ import annotations

import re
from typing import Final

import msgspec

from livecheck.records.answers import (
    Answer,
    CleanedPart,
    ComplaintShows,
    FirstPartBack,
    GoesBack,
    HowEnded,
    LastStartEnded,
    PartIs,
    PluggedIn,
    Remark,
    RepairedPart,
    SettingPutRight,
    WhereShown,
)
from livecheck.records.machine import Inventory
from livecheck.records.machine_answers import (
    AllPowerAway,
    BoardReplaced,
    FirmwareFlashed,
    LookedInside,
)

_FIRMWARE: Final = "firmware"
_MAINBOARD: Final = "mainboard"
LAST_START: Final = "last start"
"""Topic of ``LastStartEnded``."""
COMPLAINT: Final = "complaint"
"""Topic of ``ComplaintShows``."""

_DONE_TO_MACHINE: Final[dict[str, Answer]] = {
    "all power away": AllPowerAway(),
    "looked inside": LookedInside(),
}
_NOT_A_PART: Final = frozenset({"changed", "spare", "machine", ""})
_NOTHING: Final = frozenset({"same", "no", "nothing"})
_FIRST: Final = frozenset({"original", "own", "first", "back"})
_GOES_BACK: Final = "goes back"
_PLUGGED: Final = frozenset({"fitted", "plugged in"})
_VOUCHED: Final = re.compile(r"\b(spare|known-good)\b", re.IGNORECASE)
_DENIED: Final = re.compile(r"\b(no|not|without|never)\b|n't\b", re.IGNORECASE)


def understood(about: str, words: str) -> Answer:
    """The answer that ``ABOUT=WORDS`` stands for; a Remark where nothing is concluded from it.

    ``about``: id of a component or place, ``last start`` or ``complaint``. Words that are none
    of the known ones name the part that is there now.
    """
    about, words = about.strip(), words.strip()
    word = words.lower()
    if about in (LAST_START, COMPLAINT):
        return _of_topic(about, words)
    if about == "machine" and word in _DONE_TO_MACHINE:
        return _DONE_TO_MACHINE[word]
    if about in _NOT_A_PART or word in _NOTHING:
        return Remark(about=about, words=words)
    if word in _FIRST:
        return FirstPartBack(place=about)
    if word in _PLUGGED:
        return PluggedIn(place=about)
    if word.startswith(_GOES_BACK):
        said = words[len(_GOES_BACK) :].removeprefix(":").strip()
        return GoesBack(component=about, words=said)
    done = _done_to(about, word)
    return done if done is not None else _part(about, words)


def _of_topic(about: str, words: str) -> Answer:
    if about == LAST_START and words in tuple(HowEnded):
        return LastStartEnded(how=HowEnded(words))
    if about == COMPLAINT and words in tuple(WhereShown):
        return ComplaintShows(where=WhereShown(words))
    return Remark(about=about, words=words)


def _done_to(about: str, word: str) -> Answer | None:
    """What was done to a component, if the word says so."""
    if word == "cleaned":
        return CleanedPart(part=about)
    if word == "re-flashed" and about == _FIRMWARE:
        return FirmwareFlashed()
    if word in ("repaired", "re-flashed"):
        return RepairedPart(component=about)
    if word == "set":
        return SettingPutRight(component=about)
    if word == "replaced":
        return BoardReplaced() if about == _MAINBOARD else Remark(about=about, words=word)
    return None


def _part(about: str, words: str) -> PartIs:
    """A part named by the bench, or by the id it had in another run."""
    return PartIs(
        place=about,
        name=words,
        key=words if ":" in words or "@" in words else None,
        known_good=_VOUCHED.search(words) is not None and _DENIED.search(words) is None,
    )


def placed(answer: Answer, inventory: Inventory) -> Answer:
    """The answer about the place of the part it named.

    Unchanged where it names a place; a Remark where the machine has nothing of that name.
    """
    if not isinstance(answer, PartIs | FirstPartBack | PluggedIn):
        return answer
    about = answer.place
    homes = {part.id: part.place for part in inventory.parts}
    places = {*homes.values(), *(place.id for place in inventory.places)} - {""}
    # A part that does not answer has no row; it is spoken of as a kind at its place.
    silent = (place for place in places if about.endswith(f"@{place}"))
    place = homes.get(about) or next(silent, about)
    if place in places:
        return msgspec.structs.replace(answer, place=place)
    return Remark(about=about, words=_words(answer))


def _words(answer: PartIs | FirstPartBack | PluggedIn) -> str:
    """An answer about a place as it was typed."""
    if isinstance(answer, PartIs):
        return answer.name
    return "original" if isinstance(answer, FirstPartBack) else "plugged in"
