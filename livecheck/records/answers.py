"""What the technician told livecheck that no sensor can: one record for each thing told."""

from __future__ import annotations

from enum import StrEnum

from livecheck.records.machine_answers import (
    AllPowerAway,
    BoardReplaced,
    FirmwareFlashed,
    LookedInside,
    Told,
)


class HowEnded(StrEnum):
    """How the start before this one ended."""

    BY_ITSELF = "by itself"
    BY_HAND = "by hand"


class WhereShown(StrEnum):
    """Where the technician saw what the customer complains of."""

    INSIDE = "only in the installed system"
    OUTSIDE = "outside it too"
    NOWHERE = "nowhere"


class PartIs(Told, frozen=True, kw_only=True, tag="part is"):
    """Another part is in a place from this run on; it carries no identity of its own."""

    place: str
    name: str
    """What the bench calls it: ``bench spare``."""
    key: str | None = None
    """Id of the part, where it was seen in another run; None: one not seen before."""
    known_good: bool = False
    """True: the shop vouches for it."""


class FirstPartBack(Told, frozen=True, kw_only=True, tag="first part back"):
    """The part that the case began with is in its place again."""

    place: str


class PluggedIn(Told, frozen=True, kw_only=True, tag="plugged in"):
    """A part is in this place, though the machine sees none."""

    place: str


class CleanedPart(Told, frozen=True, kw_only=True, tag="cleaned"):
    """A part was cleaned: what dirt did to it is gone from this run on."""

    part: str


class RepairedPart(Told, frozen=True, kw_only=True, tag="repaired"):
    """A component was repaired: a fault it had is gone from this run on."""

    component: str


class SettingPutRight(Told, frozen=True, kw_only=True, tag="setting put right"):
    """The switches and settings that bear on a component were put right."""

    component: str


class ComplaintShows(Told, frozen=True, kw_only=True, tag="complaint shows"):
    """Where the complaint was seen."""

    where: WhereShown


class LastStartEnded(Told, frozen=True, kw_only=True, tag="last start ended"):
    """How the start before this one ended, by the one who was there."""

    how: HowEnded


class GoesBack(Told, frozen=True, kw_only=True, tag="goes back"):
    """The machine may go back with this as it is: declined by the customer, or sold to him."""

    component: str
    """Its id; of a part its identity too."""
    words: str
    """Why, in the customer's words."""


class Remark(Told, frozen=True, kw_only=True, tag="remark"):
    """Words that nothing is concluded from: they are kept and shown."""

    about: str
    words: str


Answer = (
    PartIs
    | FirstPartBack
    | PluggedIn
    | CleanedPart
    | RepairedPart
    | FirmwareFlashed
    | AllPowerAway
    | LookedInside
    | BoardReplaced
    | SettingPutRight
    | ComplaintShows
    | LastStartEnded
    | GoesBack
    | Remark
)
