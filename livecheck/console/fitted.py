"""What the technician sees fitted where the machine sees nothing.

A jack without power does not tell a dead adapter from none, nor an empty bay a silent
battery: for a machine that does not charge they are the first thing to ask.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import msgspec

from livecheck.console.screens.pick import PickScreen
from livecheck.records import Complaint, PluggedIn

if TYPE_CHECKING:
    from livecheck.console.replies import Looked
    from livecheck.plan import Plan

ASKS: Final = (
    "Nothing answers in these places. Tick those where an adapter is plugged in or a battery "
    "is fitted all the same: then its silence counts as a fault."
)


def question(looked: Looked | None, plan: Plan) -> PickScreen | None:
    """The list to tick before a run; None where there is nothing to ask."""
    if looked is None or plan.complaint is not Complaint.NOT_CHARGING:
        return None
    told = {answer.place for answer in plan.answers if isinstance(answer, PluggedIn)}
    items = [(c.value, c.label) for c in looked.seeming if c.value not in told]
    return PickScreen("adapter and battery", ASKS, items, ()) if items else None


def told(plan: Plan, ticked: tuple[str, ...] | None) -> Plan:
    """The plan with the places that were ticked."""
    more = tuple(PluggedIn(place=place) for place in ticked or ())
    return msgspec.structs.replace(plan, answers=(*plan.answers, *more))
