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
re-flash firmware           ``firmware``
replace                     component id
repair installed system     ``software``
==========================  ==================  ======================  =====================

After a step the next run tells what was done: swaps, moves and removals show by
identity; a reseat stands in ``Run.reseated``; the rest is told by an ``Answer``
(see livecheck.topology.history).
"""

from __future__ import annotations

from typing import Final

SETTING: Final = "change a setting"
ENABLE: Final = "make it testable"
RESEAT: Final = "reseat"
SWAP: Final = "swap with known-good"
MOVE: Final = "move to another place"
REMOVE: Final = "remove"
MINIMUM: Final = "minimum configuration"
HALF_BACK: Final = "put back half"
PUT_BACK: Final = "put back"
ELSEWHERE: Final = "test in known-good machine"
DEEPER: Final = "deeper probe"
SOAK: Final = "longer soak"
MEASURE: Final = "external measurement"
CLEAN: Final = "clean cooling"
REFLASH: Final = "re-flash firmware"
REPLACE: Final = "replace"
REPAIR_SYSTEM: Final = "repair installed system"

ALL: Final = (
    SETTING,
    ENABLE,
    RESEAT,
    SWAP,
    MOVE,
    REMOVE,
    MINIMUM,
    HALF_BACK,
    PUT_BACK,
    ELSEWHERE,
    DEEPER,
    SOAK,
    MEASURE,
    CLEAN,
    REFLASH,
    REPLACE,
    REPAIR_SYSTEM,
)
