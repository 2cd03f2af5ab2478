"""A finding: what a probe judged, before it is said where and by what means it was read."""

from __future__ import annotations

import msgspec

from livecheck.records import Figures, Outcome, Reading, Record, Value


class Finding(Record, frozen=True, kw_only=True):
    """A reading without the place it was taken at and the source it came from."""

    check: str
    outcome: Outcome
    value: Value = None
    unit: str | None = None
    says: str = ""
    why_not: str | None = None
    details: tuple[str, ...] = ()
    figures: Figures | None = None
    covered: float | None = None

    def with_details(self, details: tuple[str, ...], figures: Figures | None = None) -> Finding:
        """The same with the raw lines and the figures behind it."""
        return msgspec.structs.replace(self, details=details, figures=figures)

    def reading(
        self, at: str, source: str, device: str | None = None, conditions: tuple[str, ...] = ()
    ) -> Reading:
        """The finding at a component. ``source``: where the probe has it from."""
        return Reading(
            check=self.check,
            at=at,
            outcome=self.outcome,
            value=self.value,
            unit=self.unit,
            source=source,
            says=self.says,
            why_not=self.why_not,
            details=self.details,
            figures=self.figures,
            conditions=conditions,
            device=device,
            covered=self.covered,
        )


def finding(check: str, bad: bool, value: Value, says: str, unit: str | None = None) -> Finding:
    """A judged finding."""
    outcome = Outcome.FAILED if bad else Outcome.PASSED
    return Finding(check=check, outcome=outcome, value=value, says=says, unit=unit)


def unjudged(check: str, why_not: str, value: Value = None, unit: str | None = None) -> Finding:
    """A finding that says why it is none."""
    return Finding(check=check, outcome=Outcome.NOT_JUDGED, why_not=why_not, value=value, unit=unit)
