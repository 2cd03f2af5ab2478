"""Pages, screens and printed verdicts of every machine of the public fault threads.

Whatever speaks of the same thing has the same number, the headline leads the list, no name is
the address of a bus, and ten lines of the console tell what to do.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator

import pytest

from livecheck import knowledge
from livecheck.casefile import Loaded
from livecheck.chances import percent
from livecheck.console.judged_case import JudgedCase
from livecheck.console.verdict_lines import verdict_lines
from livecheck.diagnosis import locate
from livecheck.printing import verdict
from livecheck.records import Case
from livecheck.report import render
from livecheck.suspects import suspects
from tests.inventory.test_naming import ADDRESS
from tests.real_cases import cases, play
from tests.real_cases.cases import RealCase
from tests.report.test_one_number import listed, numbers

ALL = (*cases.load(cases.HERE), *cases.load(cases.SECOND))
TABLES = knowledge.load()
COLUMNS, TOP = 76, 9
"""Of a screen of 80 by 25: what a line holds, and lines of the first ten below the title."""


def wrong(judged: JudgedCase) -> Iterator[str]:
    """What does not hold of a case."""
    loaded, found = judged.loaded, judged.location
    page = render(loaded.case, loaded.runs, found, TABLES)
    for name, shares in numbers(page).items():
        if len(shares) > 1:
            yield f"{name} has {sorted(shares)}"
    shown = re.sub(r"<(details|code|style)\b.*?</\1>", "", page, flags=re.DOTALL)
    yield from (f"page: {one}" for one in ADDRESS.findall(re.sub(r"<[^>]*>", " ", shown)))
    rows = [row.text for row in verdict_lines(judged)]
    printed = verdict(loaded, found, TABLES)
    yield from (f"screen: {row}" for row in rows if ADDRESS.search(row))
    bearing, besides = listed(printed)
    if any(own != sorted(own, reverse=True) for own in (bearing, besides)):
        yield f"not in order: {bearing}, {besides}"
    leads = suspects(found)[:1]
    if found.sentence.startswith("Not settled yet: most likely") and leads and leads[0].bears:
        told = percent(leads[0].probability)
        if told not in found.sentence:
            yield f"headline “{found.sentence}” above {told} of {leads[0].names}"
    top = " ".join([line for row in rows for line in textwrap.wrap(row, COLUMNS)][:TOP])
    wanted = ["NEXT STEP"] if not judged.way_on else []
    step = judged.next_step if not judged.way_on else None
    wanted += ["CAUTION"] if step is not None and step.cautions else []
    yield from (f"not in ten lines: {one}" for one in wanted if one not in top)
    if step is not None and not re.search(r"\(\d+\s(?:min|h)", top):
        yield "not in ten lines: minutes"


@pytest.mark.slow
@pytest.mark.parametrize("case", ALL, ids=lambda case: case.name)
def test_a_public_case_is_told_alike_everywhere(case: RealCase) -> None:
    played = play.runs(case, TABLES)
    record = Case(id=case.name, complaint=case.complaint, opened="2026-01-05T09:00:00Z")
    found = locate(case.name, played, TABLES)
    loaded = Loaded(record, played, ())
    judged = JudgedCase(loaded=loaded, location=found, tables=TABLES, report="")
    assert list(wrong(judged)) == []
