"""Ids of components over all runs of a case: values that are compared and never taken apart.

A reading, an answer or a place says ``at`` with the id its own run's inventory gives, a
text. Over several runs that is not enough: boards are replaced and parts move. A
``ComponentId`` holds all of it. Its text form goes into records on disk; nobody gets an id
back from a text but by comparing (``Graph.by_text``).
"""

from __future__ import annotations

from typing import Final

from livecheck.records import Record

MAINBOARD: Final = "mainboard"
FIRMWARE: Final = "firmware"
SOFTWARE: Final = "software"
CONTACT: Final = "contact"
HUNG: Final = "hung-controller"
"""A controller of the board that hangs until all power is taken away."""
SETTING: Final = "setting"
"""What a switch, a key or the firmware's setup holds off or has wrong."""
DRIVE_LEAD: Final = "drive-lead"
ANTENNA_LEAD: Final = "antenna-lead"

IN_KNOWN_GOOD: Final = "bench"
"""Scope of what belongs to the shop's known-good machine."""


class ComponentId(Record, frozen=True, kw_only=True, cache_hash=True):
    """Which component, over all runs of a case."""

    scope: str = ""
    """Whose it is: empty: the machine's with its present board; ``board 1``: of a board that
    was replaced; ``IN_KNOWN_GOOD``."""
    kind: str = ""
    """Kind of a part that is known by the place it was seen in; ``CONTACT``; else empty."""
    place: str = ""
    """Id of that place in the runs' inventories; of a contact's place; else empty."""
    key: str = ""
    """Id in the runs' inventories. For a part known by its place: make and model, where
    they tell it from the one before."""

    def __str__(self) -> str:
        """The one text form, for records on disk."""
        whose = f"{self.scope}/" if self.scope else ""
        if self.kind == CONTACT:
            return f"{CONTACT}:{whose}{self.place}"
        if not self.place:
            return f"{whose}{self.key}"
        looks = f" ({self.key})" if self.key else ""
        return f"{whose}{self.kind}@{self.place}{looks}"


THE_SOFTWARE: Final = ComponentId(key=SOFTWARE)
"""The installed system: of no board."""
THE_FIRMWARE: Final = ComponentId(key=FIRMWARE)
"""Of the present board."""
THE_HUNG: Final = ComponentId(key=HUNG)
"""Of the present board."""
THE_SETTING: Final = ComponentId(key=SETTING)
"""Of the present board."""
KNOWN_GOOD_PART: Final = ComponentId(key="known-good:")
"""A part that a trial would put in; no run has seen it."""
