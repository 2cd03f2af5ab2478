"""The sign-off section: there at a hand-over only, whole, and honest."""

from __future__ import annotations

import msgspec
import pytest

from livecheck.records import Outcome, Reading, Run
from livecheck.report import render
from tests import factories
from tests.report.pages import Page


def _reading(at: str, outcome: Outcome, run: int) -> Reading:
    return Reading(
        check="storage.medium-errors", at=at, outcome=outcome, says=f"run {run} <b>said</b>"
    )


def bench(*outcomes: Outcome, hand_over: bool = True) -> factories.Bench:
    """A bench whose first drive had these outcomes, run after run."""
    whole = factories.port_and_battery()
    first = whole.runs[0]
    drive = next(p.id for p in first.inventory.parts if p.kind == "drive")
    made: list[Run] = [
        msgspec.structs.replace(
            first,
            number=n + 1,
            readings=(_reading(drive, outcome, n + 1),),
            hand_over=hand_over and n + 1 == len(outcomes),
        )
        for n, outcome in enumerate(outcomes)
    ]
    return whole._replace(runs=tuple(made))


def html(*outcomes: Outcome, hand_over: bool = True) -> str:
    return render(*bench(*outcomes, hand_over=hand_over))


FAILED, PASSED = Outcome.FAILED, Outcome.PASSED


def test_only_at_a_hand_over() -> None:
    assert 'id="sign-off"' not in html(FAILED, PASSED, hand_over=False)
    assert 'id="sign-off"' in html(FAILED, PASSED)


@pytest.mark.parametrize(
    ("outcomes", "words"),
    [
        ((FAILED, PASSED), ("Ready to be given back", "passes now")),
        ((FAILED, FAILED), ("Not signed off", "still fails")),
        ((FAILED, PASSED, FAILED), ("Not signed off", "came back")),
    ],
)
def test_before_and_after(outcomes: tuple[Outcome, ...], words: tuple[str, str]) -> None:
    page = html(*outcomes)
    section = page.partition('id="sign-off"')[2].partition("</section>")[0]
    assert all(word in section for word in words)
    assert ("Ready to be given back" in section) is (outcomes[-1] is PASSED)
    assert f"run {len(outcomes)} &lt;b&gt;said" in section


def test_the_section_is_well_formed() -> None:
    page = Page(html(FAILED, PASSED, FAILED))
    assert page.faults == []
    tags = [tag for tag, _ in page.tags]
    assert tags.count("table") == tags.count("caption")
