"""The words for next steps, and what ``NextStep``'s fields mean for each.

==========================  ==================  ======================  =====================
action                      target              to                      parts
==========================  ==================  ======================  =====================
change a setting            component id
make it testable            part id
reseat                      place id
swap with known-good        part id             place it sits in
move to another place       part id             place to move it to     the part there, if any
remove                      part id
minimum configuration       ``machine``                                 parts to take out
put back half               ``machine``                                 parts to put back
put back                    part id             place it came from      the part there, if any
test in known-good machine  part id
deeper probe                component id
longer soak                 ``machine``
external measurement        component id
clean cooling               cooling's part id
clean contacts              place id
exchange lead               component id        place it serves
take all power away         ``machine``
inspect inside              ``machine``
say what is in the place    place id
re-flash firmware           ``firmware``
replace                     component id
repair installed system     ``software``
==========================  ==================  ======================  =====================

A lead whose exchange is ruled out is taken not to be there: the part plugs into the board.

After a step the next run tells what was done: swaps, moves and removals show by
identity; a reseat stands in ``Run.reseated``; the rest is told by an ``Answer``
(see livecheck.topology.history).
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final

SLEEP: Final = "sleep.wakes"
STARTS: Final = ("starts.warm", "starts.cold")
"""Checks of what a machine does by itself, on request."""


class Action(StrEnum):
    """What a step does."""

    SETTING = "change a setting"
    ENABLE = "make it testable"
    RESEAT = "reseat"
    SWAP = "swap with known-good"
    MOVE = "move to another place"
    REMOVE = "remove"
    MINIMUM = "minimum configuration"
    HALF_BACK = "put back half"
    PUT_BACK = "put back"
    KNOWN_GOOD_MACHINE = "test in known-good machine"
    DEEPER = "deeper probe"
    SOAK = "longer soak"
    MEASURE = "external measurement"
    CLEAN = "clean cooling"
    CLEAN_CONTACTS = "clean contacts"
    EXCHANGE_LEAD = "exchange lead"
    INSPECT = "inspect inside"
    ASK = "say what is in the place"
    POWER_AWAY = "take all power away"
    REFLASH = "re-flash firmware"
    REPLACE = "replace"
    REPAIR_SYSTEM = "repair installed system"
