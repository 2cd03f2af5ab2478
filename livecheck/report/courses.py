"""Heat and power as plain values: charts of each run's course, figures of the cooling, compared."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec
from markupsafe import Markup

from livecheck.records import Course, Line, Outcome, Reading, Run
from livecheck.report import course_svg
from livecheck.thermal import compare
from livecheck.thermal.compare import Figure
from livecheck.wording import figure, text

GROUPS: Final = (
    ("meters.heat", ("temperature",)),
    ("meters.power", ("power",)),
    ("meters.frequency", ("frequency",)),
    ("meters.fan", ("fan",)),
    ("meters.volts", ("battery-volts",)),
    ("meters.charge", ("battery-charge",)),
)
"""Key of the heading, and the sorts drawn together."""
MOST_RUNS: Final = 4
"""Newest runs whose charts are shown."""
LEAST_SECONDS: Final = 10.0
"""A course shorter than this shows nothing."""


class Chart(msgspec.Struct, frozen=True, kw_only=True):
    """One drawing and its heading."""

    title: str
    drawing: Markup
    said: str


class Metered(msgspec.Struct, frozen=True, kw_only=True):
    """The charts of one run."""

    run: int
    charts: tuple[Chart, ...]


class Cooling(msgspec.Struct, frozen=True, kw_only=True):
    """One run's figures of the cooling."""

    run: int
    resistance: str | None
    time_constant: str | None
    says: str
    outcome: Outcome


class Meters(msgspec.Struct, frozen=True, kw_only=True):
    """The whole section; falsy content where nothing was metered."""

    runs: tuple[Metered, ...] = ()
    cooling: tuple[Cooling, ...] = ()
    compared: str | None = None
    """First against last run in which the cooling was measured."""

    @property
    def any(self) -> bool:
        """Whether there is anything to show."""
        return bool(self.runs or self.cooling)


def meters(runs: Sequence[Run]) -> Meters:
    """What the runs' meters and thermal fits show, oldest first."""
    ordered = sorted(runs, key=lambda run: run.number)
    metered = tuple(m for run in ordered[-MOST_RUNS:] if (m := _metered(run)) is not None)
    cooling = tuple(c for run in ordered if (c := _cooling(run)) is not None)
    return Meters(runs=metered, cooling=cooling, compared=_compared(ordered))


def _metered(run: Run) -> Metered | None:
    course = run.course
    if course is None or course.seconds[-1] < LEAST_SECONDS:
        return None
    charts = []
    for key, sorts in GROUPS:
        lines = _worth(course, sorts)
        drawing = course_svg.chart(course, lines)
        if drawing is not None:
            heading = text("meters.title", what=text(key), unit=lines[0].unit)
            charts.append(Chart(title=heading, drawing=drawing, said=course_svg.said(lines)))
    return Metered(run=run.number, charts=tuple(charts)) if charts else None


def _worth(course: Course, sorts: Sequence[str]) -> list[Line]:
    """The lines of some sorts, those that moved most first; the processor's before others'."""
    found = [line for line in course.lines if line.sort in sorts and any(line.values)]
    found.sort(key=lambda line: (line.name != "processor", -_swing(line)))
    return found[: course_svg.MOST_LINES]


def _swing(line: Line) -> float:
    values = [v for v in line.values if v is not None]
    return max(values) - min(values)


def _reading(run: Run, check: str) -> Reading | None:
    return next((r for r in run.readings if r.check == check), None)


def _cooling(run: Run) -> Cooling | None:
    found = _reading(run, "heat.cooling")
    if found is None:
        return None
    return Cooling(
        run=run.number,
        resistance=_with_spread(found),
        time_constant=_with_spread(_reading(run, "heat.time-constant")),
        says=found.says or found.why_not or "",
        outcome=found.outcome,
    )


def _with_spread(reading: Reading | None) -> str | None:
    if reading is None or not isinstance(reading.value, int | float):
        return None
    spread = f" ± {figure(reading.spread)}" if reading.spread is not None else ""
    return f"{figure(reading.value)}{spread} {reading.unit}"


def _compared(runs: Sequence[Run]) -> str | None:
    told = [run for run in runs if _figure(run, "heat.time-constant") is not None]
    if len(told) < 2:
        return None
    first, last = told[0], told[-1]
    found = compare(
        (_figure(first, "heat.cooling"), _figure(last, "heat.cooling")),
        (_figure(first, "heat.time-constant"), _figure(last, "heat.time-constant")),
    )
    return text("meters.compared", first=first.number, last=last.number, says=found.says)


def _figure(run: Run, check: str) -> Figure | None:
    found = _reading(run, check)
    if found is None or found.spread is None or not isinstance(found.value, int | float):
        return None
    return Figure(float(found.value), found.spread)
