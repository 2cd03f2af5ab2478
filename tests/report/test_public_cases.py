"""Pages, screens and printed verdicts of every machine of the public fault threads.

Whatever speaks of the same thing has the same number, the headline leads the list, no name is
the address of a bus, and ten lines of the console tell what to do.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from livecheck import knowledge
from livecheck.casefile import Loaded
from livecheck.chances import percent
from livecheck.console.judged_case import JudgedCase
from livecheck.console.verdict_lines import verdict_lines
from livecheck.diagnosis import locate
from livecheck.printing import verdict
from livecheck.records import Case, Knowledge
from livecheck.report import render
from livecheck.suspects import suspects
from tests.inventory.test_naming import ADDRESS
from tests.real_cases import cases, play
from tests.real_cases.cases import RealCase
from tests.report.browser import browser
from tests.report.test_customer import ENDS, PRINTED, SHOP, THIRD
from tests.report.test_one_number import listed, numbers

ALL = (*cases.load(cases.HERE), *cases.load(cases.SECOND))
TABLES = knowledge.load()
COLUMNS, TOP = 76, 9
"""Of a screen of 80 by 25: what a line holds, and lines of the first ten below the title."""


def wrong(case: JudgedCase) -> Iterator[str]:
    """What does not hold of a case."""
    loaded, found = case.loaded, case.location
    page = render(loaded.case, loaded.runs, found, TABLES)
    for name, shares in numbers(page).items():
        if len(shares) > 1:
            yield f"{name} has {sorted(shares)}"
    shown = re.sub(r"<(details|code|style)\b.*?</\1>", "", page, flags=re.DOTALL)
    yield from (f"page: {one}" for one in ADDRESS.findall(re.sub(r"<[^>]*>", " ", shown)))
    rows = [row.text for row in verdict_lines(case)]
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
    wanted = ["NEXT STEP"] if not case.way_on else []
    step = case.next_step if not case.way_on else None
    wanted += ["CAUTION"] if step is not None and step.cautions else []
    yield from (f"not in ten lines: {one}" for one in wanted if one not in top)
    if step is not None and not re.search(r"\(\d+\s(?:min|h)", top):
        yield "not in ten lines: minutes"


def judged(case: RealCase, tables: Knowledge = TABLES) -> JudgedCase:
    """A public case played through the live path."""
    played = play.runs(case, tables)
    record = Case(id=case.name, complaint=case.complaint, opened="2026-01-05T09:00:00Z")
    found = locate(case.name, played, tables)
    return JudgedCase(loaded=Loaded(record, played, ()), location=found, tables=tables, report="")


@pytest.mark.slow
@pytest.mark.parametrize("case", ALL, ids=lambda case: case.name)
def test_a_public_case_is_told_alike_everywhere(case: RealCase) -> None:
    assert list(wrong(judged(case))) == []


@pytest.mark.slow
def test_the_first_third_of_the_customers_page_answers_his_questions(tmp_path: Path) -> None:
    """Of every public case, with a shop's prices: what is broken, the data, what it costs."""
    tables = msgspec.structs.replace(TABLES, shop=SHOP)
    low = []
    with browser() as shown:
        for number, case in enumerate(ALL):
            one = judged(case, tables)
            page = tmp_path / f"{number}.html"
            loaded = one.loaded
            page.write_text(render(loaded.case, loaded.runs, one.location, tables), "utf-8")
            shown.open(page, width=PRINTED, media="print")
            ends = {
                words: bottom
                for words, bottom in shown.evaluate(ENDS)
                if words.startswith(("Are your data", "What it costs", "What we propose"))
            }
            if len(ends) != 3 or max(ends.values()) > THIRD:
                low.append((case.name, ends))
    assert low == []
