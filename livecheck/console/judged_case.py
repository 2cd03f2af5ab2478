"""A case with its verdict, as the screens need it."""

from __future__ import annotations

import msgspec

from livecheck.casefile import Loaded
from livecheck.names import Names
from livecheck.records import Knowledge, Location


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
