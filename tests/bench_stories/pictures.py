"""Machines with a wrong picture or none, each written down before it was played.

What an experienced technician would want of each is what stands in ``Wanted``: the order of the
trade is to look from outside first (torch, external screen, lid angle), then to reseat the lead
at both ends, and to order a panel, a lead or a board last (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import msgspec

from livecheck.records import Complaint
from tests.displayport.sink import Sink
from tests.testbeds.bed import Bed
from tests.testbeds.screens import with_panel

PANEL: Final = "panel:LNX002A SN-1234"
CONNECTOR: Final = "panel:eDP-1"
CHIP: Final = "pci:0000:00:02.0"

INSIDE_ONLY: Final = {"outside-picture": "yes", "display": "lines"}
"""Guided checks: an external screen shows no such fault; the panel's patterns are wrong."""


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """What a verdict has to be."""

    among: frozenset[str] = frozenset()
    """Kinds of the likeliest candidate; empty: any."""
    below: dict[str, float] = {}
    """Kind -> what all of its kind together stay below."""
    above: dict[str, float] = {}
    steps: tuple[str, ...] = ()
    """What the next step begins with: action, and kind of what it is about."""


class Look(msgspec.Struct, frozen=True, kw_only=True):
    """One start of the machine, and what eye and hand found at it."""

    bed: Callable[[], Bed]
    guided: dict[str, str] = {}
    """Guided check -> the answer given; ``hinge``: watched to its end."""
    loaded: dict[str, tuple[str, bool]] = {}
    """Check under load -> where, and whether it passed: loads cannot be replayed."""
    reseated: tuple[str, ...] = ()
    answers: tuple[tuple[str, str], ...] = ()
    wanted: Wanted = Wanted()


class PictureStory(msgspec.Struct, frozen=True, kw_only=True):
    """One machine."""

    name: str
    truth: str
    """Kinds that the truth may be called by; empty: the machine is sound."""
    looks: tuple[Look, ...]
    complaint: Complaint = Complaint.WRONG_PICTURE


def hinge_lead() -> Bed:
    """Errors whenever the lid is where it is now and then, thousands a second."""
    return with_panel(Sink(rate=lambda now: 3000.0 if now % 7 > 5 else 0.0))


def sound() -> Bed:
    return with_panel()


def new_panel() -> Bed:
    return with_panel(serial=0x7777)


LEAD: Final = frozenset({"panel-connector", "contact"})
SOFT: Final = LEAD | {"panel"}
BOARD: Final = frozenset({"display-controller", "mainboard", "memory-controller", "processor"})
NO_BOARD: Final = {"display-controller": 0.15, "mainboard": 0.2}

ALL: Final = (
    PictureStory(
        name="half of the panel is dark",
        truth="panel",
        looks=(
            Look(bed=sound, wanted=Wanted(steps=("external measurement",))),
            Look(
                bed=sound,
                guided={**INSIDE_ONLY, "lid-picture": "yes", "hinge": ""},
                wanted=Wanted(among=SOFT, below={**NO_BOARD, "panel": 0.9}),
            ),
            Look(
                bed=sound,
                guided={**INSIDE_ONLY, "lid-picture": "yes", "hinge": ""},
                reseated=(CONNECTOR,),
                wanted=Wanted(among=frozenset({"panel"}), below=NO_BOARD),
            ),
            Look(
                bed=new_panel,
                guided={"outside-picture": "yes", "display": "even"},
                wanted=Wanted(among=frozenset({"panel"}), above={"panel": 0.6}, below=NO_BOARD),
            ),
        ),
    ),
    PictureStory(
        name="the lead breaks at one angle of the lid",
        truth="panel-connector contact",
        looks=(
            Look(
                bed=hinge_lead,
                guided={**INSIDE_ONLY, "lid-picture": "no", "hinge": ""},
                wanted=Wanted(
                    among=LEAD, below={**NO_BOARD, "panel": 0.2},
                    steps=("reseat panel-connector", "reseat panel"),
                ),
            ),
            Look(
                bed=hinge_lead,
                guided={**INSIDE_ONLY, "lid-picture": "no", "hinge": ""},
                reseated=(CONNECTOR,),
                wanted=Wanted(among=frozenset({"panel-connector"}), below=NO_BOARD,
                              above={"panel-connector": 0.5}),
            ),
            Look(
                bed=sound,
                guided={"display": "even", "lid-picture": "yes", "hinge": ""},
                answers=((CONNECTOR, "repaired"),),
                wanted=Wanted(among=LEAD, below=NO_BOARD),
            ),
        ),
    ),
    PictureStory(
        name="the backlight is out",
        truth="panel panel-connector contact",
        looks=(
            Look(
                bed=sound,
                guided={"torch": "no", "outside-picture": "yes", "lid-picture": "yes"},
                wanted=Wanted(among=SOFT, below={"display-controller": 0.15, "mainboard": 0.35,
                                                 "panel": 0.9},
                              steps=("reseat panel-connector", "reseat contact")),
            ),
            Look(
                bed=sound,
                guided={"torch": "no", "outside-picture": "yes", "lid-picture": "yes"},
                reseated=(CONNECTOR,),
                wanted=Wanted(among=frozenset({"panel", "panel-connector"}),
                              below={"display-controller": 0.15, "mainboard": 0.5}),
            ),
        ),
    ),
    PictureStory(
        name="a bit of the graphics memory is stuck",
        truth="display-controller mainboard",
        looks=(
            Look(
                bed=sound,
                guided={"outside-picture": "no", "display": "lines", "lid-picture": "yes"},
                loaded={"memory.words": ("memory-controller", True)},
                # One fault in ten has a second beside it, and the panel is the likeliest of all.
                wanted=Wanted(among=BOARD, below={"panel": 0.2, "panel-connector": 0.1}),
            ),
            Look(
                bed=sound,
                guided={"outside-picture": "no", "display": "lines", "lid-picture": "yes"},
                loaded={"display.memory": (CHIP, False),
                        "memory.words": ("memory-controller", True)},
                wanted=Wanted(among=BOARD, below={"panel": 0.08, "panel-connector": 0.05},
                              above={"display-controller": 0.4}),
            ),
        ),
    ),
    PictureStory(
        name="graphics that fail only hot",
        truth="display-controller mainboard",
        looks=(
            Look(
                bed=sound,
                guided={"outside-picture": "no", "display": "even", "lid-picture": "yes"},
                loaded={"display.link-errors-hot": (PANEL, False),
                        "memory.words": ("memory-controller", True)},
                wanted=Wanted(among=BOARD, below={"panel": 0.1, "panel-connector": 0.2}),
            ),
        ),
    ),
    PictureStory(
        name="graphics that compute wrong results only hot",
        truth="display-controller mainboard",
        looks=(
            Look(
                bed=sound,
                guided={"outside-picture": "no", "display": "lines", "lid-picture": "yes"},
                loaded={"display.results": (CHIP, True), "display.results-hot": (CHIP, False),
                        "display.memory": (CHIP, True),
                        "memory.words": ("memory-controller", True)},
                wanted=Wanted(among=BOARD, below={"panel": 0.08, "panel-connector": 0.05},
                              above={"display-controller": 0.5}),
            ),
        ),
    ),
    PictureStory(
        name="graphics that hang, the lead is sound",
        truth="display-controller mainboard",
        looks=(
            Look(
                bed=sound,
                guided={"outside-picture": "no", "display": "even", "lid-picture": "yes"},
                loaded={"display.hang": (CHIP, False), "memory.words": ("memory-controller", True)},
                wanted=Wanted(among=BOARD, below={"panel": 0.1, "panel-connector": 0.1}),
            ),
        ),
    ),
    PictureStory(
        name="a panel with stripes beside graphics that compute right, cold and hot",
        truth="panel panel-connector contact",
        looks=(
            Look(
                bed=sound,
                guided={**INSIDE_ONLY, "lid-picture": "yes", "hinge": ""},
                loaded={"display.results": (CHIP, True), "display.results-hot": (CHIP, True),
                        "display.hang": (CHIP, True), "display.memory": (CHIP, True)},
                wanted=Wanted(among=SOFT, below={"display-controller": 0.08, "mainboard": 0.15}),
            ),
        ),
    ),
    PictureStory(
        name="sound, set too dark by its owner's child",
        truth="",
        looks=(
            Look(
                bed=sound,
                guided={"outside-picture": "yes", "display": "even", "lid-picture": "yes",
                        "torch": "yes", "backlight": "yes", "hinge": ""},
                loaded={"display.link-errors-hot": (PANEL, True),
                        "display.memory": (CHIP, True)},
                wanted=Wanted(below={"panel": 0.3, "panel-connector": 0.3,
                                     "display-controller": 0.3, "mainboard": 0.3}),
            ),
        ),
    ),
)  # fmt: skip
