"""The section on heat and power: charts that stay readable in grey, figures, comparison.

Outside sources: SVG 2 (lines told apart by stroke-dasharray); arithmetic for the scales.
"""

from __future__ import annotations

import re

import msgspec
import pytest

from livecheck.meters import Sort
from livecheck.recorder.course import MOST_POINTS, course
from livecheck.records import Course, Line, Outcome, Reading, Run
from livecheck.report import course_svg, render
from livecheck.report.courses import meters
from tests import factories
from tests.recorder.machines import record
from tests.report.pages import Page

HOT = Line(name="coretemp Package", sort="temperature", unit="°C", limit=100.0,
           values=(45.0, 60.0, None, 82.5, 80.0))  # fmt: skip
ZONE = Line(name="acpitz", sort="temperature", unit="°C", values=(40.0, 41.0, 42.0, 44.0, 45.0))
COURSE = Course(seconds=(0.0, 10.0, 20.0, 30.0, 40.0), lines=(HOT, ZONE),
                steps=((0.0, "memory"), (20.0, "heat-load")))  # fmt: skip


def _cooled(number: int, resistance: float, tau: float) -> Run:
    readings = (
        Reading(check="heat.cooling", at="cooling@cooling", outcome=Outcome.PASSED,
                value=resistance, spread=0.05, unit="K/W", says="Within."),
        Reading(check="heat.time-constant", at="cooling@cooling", outcome=Outcome.NOT_JUDGED,
                value=tau, spread=1.0, unit="s"),
    )  # fmt: skip
    return Run(number=number, started="2026-03-01T10:00:00+00:00", readings=readings, course=COURSE)


def test_a_chart_holds_every_point() -> None:
    """Each value stands at its height; a gap parts the line; the limit is drawn and named."""
    drawn = course_svg.chart(COURSE, (HOT, ZONE))
    assert drawn is not None
    paths = re.findall(r'class="curve"[^>]* d="([^"]+)"', drawn)
    assert len(paths) == 2 and paths[0].count("M") == 2 and paths[1].count("M") == 1
    points = re.findall(r"[ML]([\d.]+) ([\d.]+)", paths[0])
    assert len(points) == 4
    # 40 to 100 °C over the chart's height, so 45 °C lies 5/60 above its floor.
    floor = course_svg.TOP + course_svg.HEIGHT
    assert float(points[0][1]) == pytest.approx(floor - course_svg.HEIGHT * 5 / 60, abs=0.1)
    assert 'class="limit"' in drawn and "limit 100" in drawn
    assert "coretemp Package 45 to 82.5 °C" in course_svg.said((HOT,)).replace("\u00a0", " ")


def test_lines_are_told_apart_without_colour() -> None:
    """All in one stroke, each with dashes of its own and its name."""
    lines = [Line(name=f"sensor {k}", sort="temperature", unit="°C", values=(40.0, 41.0 + k))
             for k in range(4)]  # fmt: skip
    drawn = course_svg.chart(Course(seconds=(0.0, 30.0), lines=tuple(lines)), lines)
    assert drawn is not None
    dashes = re.findall(r'class="curve"(?: stroke-dasharray="([^"]*)")?', drawn)
    assert len(set(dashes)) == 4 and all(f"sensor {k}" in drawn for k in range(4))


def test_hostile_names_stay_text() -> None:
    line = Line(name="<b>&\x1b[31m", sort="power", unit="W", values=(1.0, 2.0))
    drawn = course_svg.chart(
        Course(seconds=(0.0, 20.0), lines=(line,), steps=((0.0, "<i>"),)), (line,)
    )
    assert drawn is not None and "<b>" not in drawn and "<i>" not in drawn and "\x1b" not in drawn


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [(40, 100, [40, 60, 80, 100]), (0, 1, [0, 0.5, 1]), (12.1, 12.4, [12.1, 12.2, 12.3, 12.4])],
)
def test_ticks(low: float, high: float, expected: list[float]) -> None:
    """Steps of 1, 2 or 5 that hold the whole span."""
    found = course_svg.ticks(low, high)
    assert found == pytest.approx(expected)


def test_before_and_after_cleaning() -> None:
    """Two runs are compared by resistance; one alone is not."""
    assert meters([_cooled(1, 3.4, 110.0)]).compared is None
    found = meters([_cooled(2, 2.1, 70.0), _cooled(1, 3.4, 110.0)])
    assert found.compared is not None and "38% less" in found.compared
    assert [c.run for c in found.cooling] == [1, 2]
    assert found.cooling[0].resistance == "3.4 ± 0.05 K/W"


def test_the_page_with_meters_is_well_formed() -> None:
    """In the whole report, read back strictly; without meters there is no such section."""
    case, runs, location, knowledge, *rest = factories.port_and_battery()
    metered = [
        msgspec.structs.replace(_cooled(1, 3.4, 110.0), inventory=runs[0].inventory),
        *runs[1:],
    ]
    html = render(case, metered, location, knowledge, *rest)
    page = Page(html)
    assert not page.faults and 'id="meters"' in html and "3.4 ± 0.05 K/W" in html
    assert 'id="meters"' not in render(case, runs, location, knowledge, *rest)


def test_nothing_metered_shows_nothing() -> None:
    assert not meters([Run(number=1, started="2026-03-01T10:00:00+00:00")]).any


def test_thinning_keeps_peaks() -> None:
    """2000 seconds in 240 points: one hot second and one second without adapter are still there."""
    made = record(2000, heat=lambda t: 97.0 if t == 777 else 50.0,
                  adapter=lambda t: 0.0 if t == 1234 else 1.0)  # fmt: skip
    thin = course(made.header.channels, made.samples)
    assert thin is not None and len(thin.seconds) <= MOST_POINTS
    told = {line.sort: [v for v in line.values if v is not None] for line in thin.lines}
    assert max(told[Sort.TEMPERATURE]) == 97.0 and min(told[Sort.ADAPTER]) == 0.0
    assert thin.steps == ((0.0, "processor"),)
    assert course(made.header.channels, made.samples[:1]) is None
