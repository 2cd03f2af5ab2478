"""What a line of the verdict screen is about: the first word of its key."""

from __future__ import annotations

from typing import Final

VERDICT: Final = "verdict"
STEP: Final = "step"
UNTESTED: Final = "untested"
REPORT: Final = "report"
WAY: Final = "way"
BARRED: Final = "barred"
TOLD: Final = "told"
HANDED: Final = "hand-over"
