"""What the technician told, in words: what it is about, and what was said of it."""

from __future__ import annotations

from livecheck.found_words import reworded
from livecheck.names import Names
from livecheck.records import (
    AllPowerAway,
    Answer,
    BoardReplaced,
    CleanedPart,
    ComplaintShows,
    FirmwareFlashed,
    FirstPartBack,
    GoesBack,
    LastStartEnded,
    LookedInside,
    PartIs,
    PluggedIn,
    Remark,
    RepairedPart,
    SettingPutRight,
)
from livecheck.wording import text


def told(answer: Answer, names: Names) -> tuple[str, str]:
    """(What the answer is about, what was said of it)."""
    match answer:
        case PartIs(place=place, name=name, known_good=known_good):
            key = "answer.known-good" if known_good else "answer.part-is"
            return names.of(place).label, text(key, name=reworded(name))
        case FirstPartBack(place=place):
            return names.of(place).label, text("answer.first-part-back")
        case PluggedIn(place=place):
            return names.of(place).label, text("answer.plugged-in")
        case CleanedPart(part=part):
            return names.of(part).label, text("answer.cleaned")
        case RepairedPart(component=component):
            return names.of(component).label, text("answer.repaired")
        case SettingPutRight(component=component):
            return names.of(component).label, text("answer.setting-put-right")
        case GoesBack(component=component, words=words):
            return names.of(component).label, text("answer.goes-back", words=words)
        case FirmwareFlashed():
            return names.of("firmware").label, text("answer.firmware-flashed")
        case AllPowerAway():
            return names.of("machine").label, text("answer.all-power-away")
        case LookedInside():
            return names.of("machine").label, text("answer.looked-inside")
        case BoardReplaced():
            return names.of("mainboard").label, text("answer.board-replaced")
        case ComplaintShows(where=where):
            return text("answer.complaint"), reworded(where.value)
        case LastStartEnded(how=how):
            return text("answer.last-start"), reworded(how.value)
        case Remark(about=about, words=words):
            return names.of(about).label if about else text("answer.remark"), words
