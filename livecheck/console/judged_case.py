"""A case with its verdict, as the screens need it."""

from __future__ import annotations

from typing import Final

import msgspec

from livecheck.casefile import Loaded
from livecheck.diagnosis.steps.actions import Action
from livecheck.judgement import NO_MACHINE
from livecheck.names import Names
from livecheck.records import Knowledge, Location, NextStep
from livecheck.suspects import Suspect, suspects
from livecheck.way_on import WayOn, step_left, way_on

NO_SPARE: Final = "no spare"
"""How it is kept in the case that no known-good part of a kind is there."""


class JudgedCase(msgspec.Struct, frozen=True, kw_only=True):
    """Everything read of a case, and where its fault is."""

    loaded: Loaded
    location: Location
    tables: Knowledge
    report: str
    """Path of its report."""

    @property
    def names(self) -> Names:
        """What each component id means."""
        return Names(self.loaded.runs, self.tables, self.loaded.case.spares)

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """Who could be at fault, by unit."""
        return suspects(self.location)

    @property
    def next_step(self) -> NextStep | None:
        """The step that is proposed."""
        return step_left(self.loaded.case, self.location)

    @property
    def way_on(self) -> tuple[WayOn, ...]:
        """What is left to do once the repair is proven."""
        return way_on(self.loaded.case, self.loaded.runs, self.location, self.tables)

    def rule_of(self, step: NextStep) -> str:
        """How a step that cannot be done here is kept in the case."""
        if step.action == Action.SWAP:
            return f"{NO_SPARE}: {self.names.of(step.target).kind}"
        if step.action == Action.KNOWN_GOOD_MACHINE:
            return NO_MACHINE
        return f"{step.action}: {step.target}"
