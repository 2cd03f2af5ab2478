"""The section on drives: the customer's sentence, the figures, charts that say what was measured.

Outside sources: an XML parser of the standard library for the SVG; the logarithm for the
scale of the charts; HTML and page rules are held by ``test_report`` for every page.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck import knowledge
from livecheck.names import Names
from livecheck.probes.drive.read_figures import bad_ranges
from livecheck.probes.drive.read_figures import figures as figures_of
from livecheck.probes.drive.read_stats import Statistics
from livecheck.records import BadRange, Inventory, Outcome, Part, ReadFigures, Reading, Run, Value
from livecheck.report import storage, storage_svg

SIZE = 480 * 10**9
KNOWN = knowledge.load()
Given = tuple[str, Outcome, Value]
PASSED, FAILED = Outcome.PASSED, Outcome.FAILED


def _drive(
    given: Sequence[Given], figures: ReadFigures | None = None, kind: str = "drive", name: str = "D"
) -> storage.Drive:
    part = Part(id="drive:D", kind=kind, name=name, place="ata:x:1",
                size_bytes=SIZE)  # fmt: skip
    readings = tuple(
        Reading(check=check, at=part.id, outcome=outcome, value=value, says=check,
                figures=figures if check == "storage.read-slow" else None)
        for check, outcome, value in given
    )  # fmt: skip
    run = Run(number=3, started="", inventory=Inventory(parts=(part,)), readings=readings)
    (found,) = storage.drives((run,), Names((run,), KNOWN))
    return found


def _stats() -> Statistics:
    """Ten milliseconds everywhere, a second in region 10, a bad place in the middle."""
    stats = Statistics(0, SIZE)
    for region in range(64):
        for _ in range(10):
            offset = SIZE * region // 64 + SIZE // 200
            stats.add(offset, 1 << 20, 1.0 if region == 10 else 0.01, 3.0)
    stats.add_bad(BadRange(offset=SIZE // 2, bytes=8192, tries=3))
    stats.add_bad(BadRange(offset=SIZE // 4, bytes=4096, tries=2, recovered=True))
    return stats


@pytest.mark.parametrize(
    ("given", "tone", "words"),
    [
        ([("storage.health", PASSED, "passed")], "fine", "was not read"),
        ([("storage.read-slow", PASSED, 0)], "fine", "were read without trouble"),
        ([("storage.medium-errors", FAILED, 3)], "bad", "has lost data or is about to"),
        ([("storage.link-change", FAILED, 9)], "path", "on the way between it and the mainboard"),
        ([("storage.medium-errors", FAILED, 3), ("storage.link-errors", FAILED, 9)], "bad",
         "damaged on the way to it as well"),
        ([("storage.read-errors", FAILED, "disappeared")], "bad", "vanished"),
        ([("storage.answers", FAILED, 0)], "bad", "gives nothing to read"),
        ([("storage.read-stalls", FAILED, 4)], "bad", "too late"),
        ([("storage.wear", FAILED, 104)], "bad", "used up the writing"),
        ([("storage.temperature", FAILED, 71)], "bad", "no data is known to be lost"),
        ([("storage.health", Outcome.NOT_JUDGED, None)], "open", "Nothing could be tested"),
        ([], "open", "Nothing could be tested"),
    ],
)  # fmt: skip
def test_the_customers_sentence(given: list[Given], tone: str, words: str) -> None:
    """The gravest finding speaks, in words without a technician's terms."""
    found = _drive(given, figures_of(_stats()))
    assert found.tone == tone
    assert words in found.sentence
    assert not {"SMART", "LBA", "CRC", "AER"} & set(found.sentence.split())


def test_link_trouble_is_never_told_as_the_drives() -> None:
    """Every check that speaks of the way alone gives the sentence about the way."""
    for check in storage.ON_THE_WAY:
        assert check in KNOWN.checks, check
        assert _drive([(check, FAILED, 1)]).tone == "path"
    assert not storage.ON_THE_WAY & storage.MEDIUM
    assert all(check in KNOWN.checks for check in storage.MEDIUM | storage.SLOW)


def test_figures_are_those_of_the_test() -> None:
    """Capacity, amount, speed and percentiles as counted; places in order, with their tries."""
    found = _drive([("storage.read-slow", FAILED, 1)], figures_of(_stats()))
    rows = {row.label: row.value for row in found.rows}
    assert rows["Capacity"] == "480\u00a0GB"
    # 640 reads of 1 MiB in 10 x 63 x 0.01 + 10 x 1.0 s.
    assert rows["Read in this test"] == "671\u00a0MB"
    assert rows["Mean speed"] == "41\u00a0MB/s"
    # The bucket's upper edge lies within a quarter octave above 10 ms.
    assert rows["50 % of reads within"] in {"10\u00a0ms", "11\u00a0ms", "12\u00a0ms"}
    assert [place.what for place in found.places] == ["came at try 2", "tried 3 times"]
    assert found.places[1].at.replace("\u00a0", "") == str(SIZE // 2)
    assert found.run == 3


def _shapes(svg: str | None, name: str, kind: str) -> list[ElementTree.Element]:
    assert svg is not None
    root = ElementTree.fromstring(svg)
    return [e for e in root.iter(name) if e.get("class") == kind]


def test_the_span_chart_draws_what_was_measured() -> None:
    """A bar a region, a hundred times as long in the slow one by the scale's logarithm; a cross
    in the middle."""
    figures = figures_of(_stats())
    svg = storage_svg.span(figures)
    (bars,) = _shapes(svg, "g", "typical")
    heights = [float(bar.get("height", "0")) for bar in bars]
    assert len(heights) == 64
    scale = storage_svg.Scale([v for v in (*figures.medians, *figures.longest) if v])
    ratio = (heights[10] - heights[0]) / storage_svg.HEIGHT
    # The figures carry four digits.
    assert ratio == pytest.approx(2 / math.log10(scale.high / scale.low), rel=0.02)
    (cross,) = _shapes(svg, "path", "bad")
    x = float((cross.get("d") or "")[1:].split(" ")[0])
    middle = storage_svg.LEFT + (storage_svg.WIDTH - storage_svg.LEFT) / 2
    assert x == pytest.approx(middle, abs=6)
    assert len(_shapes(svg, "rect", "weak")) == 1


def test_charts_need_no_colour_and_say_themselves_in_words() -> None:
    """No shape carries a colour of its own; the label holds the figures for who cannot see."""
    figures = figures_of(_stats())
    for svg in (storage_svg.span(figures), storage_svg.histogram(figures)):
        assert svg is not None
        root = ElementTree.fromstring(svg)
        assert all(not {"fill", "stroke", "style"} & set(e.attrib) for e in root.iter())
        assert root.get("role") == "img"
        assert any(character.isdigit() for character in root.get("aria-label") or "")


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.floats(1e-6, 200), st.integers(0, SIZE - 1)), min_size=1, max_size=60),
    st.lists(st.tuples(st.integers(0, 2 * SIZE), st.integers(1, SIZE)), max_size=5),
)
def test_any_measurement_is_drawn_inside_its_chart(
    requests: list[tuple[float, int]], places: list[tuple[int, int]]
) -> None:
    """Whatever was measured, the SVG is well-formed and nothing is higher than the chart."""
    stats = Statistics(0, SIZE)
    for seconds, offset in requests:
        stats.add(offset, 4096, seconds, 3.0)
    for offset, length in places:
        stats.add_bad(BadRange(offset=offset, bytes=length))
    figures = figures_of(stats)
    for svg in (storage_svg.span(figures), storage_svg.histogram(figures)):
        if svg is None:
            continue
        for bar in ElementTree.fromstring(svg).iter("rect"):
            assert 0 <= float(bar.get("y", "-1")) <= storage_svg.TOP + storage_svg.HEIGHT + 20
            assert 0 <= float(bar.get("height", "-1")) <= storage_svg.HEIGHT + 1


def test_without_a_read_test_there_is_no_chart() -> None:
    """Health alone: figures, no empty frames."""
    found = _drive([("storage.health", PASSED, "passed")])
    assert (found.span, found.histogram, found.places) == (None, None, ())
    assert storage_svg.span(ReadFigures()) is None
    assert storage_svg.histogram(ReadFigures()) is None


def test_places_show_even_where_too_little_was_read_to_compare() -> None:
    """A drive left alone early lists its places in the errors' reading alone."""
    part = Part(id="drive:D", kind="drive", name="D", place="p")
    reading = Reading(check="storage.read-errors", at=part.id, outcome=FAILED, value=4096,
                      figures=ReadFigures(bad=bad_ranges(_stats())))  # fmt: skip
    run = Run(number=1, started="", inventory=Inventory(parts=(part,)), readings=(reading,))
    (found,) = storage.drives((run,), Names((run,), KNOWN))
    assert len(found.places) == 2
