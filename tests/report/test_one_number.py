"""One question, one number: whatever a page says of one component's chance is the same."""

from __future__ import annotations

import re
from collections import defaultdict
from pathlib import Path

import pytest

from livecheck import demo, knowledge
from livecheck.chances import percent
from livecheck.judgement import locate_case
from livecheck.printing import verdict
from livecheck.report import render
from livecheck.suspects import suspects
from tests import variants

PER_CENT = r"((?:over |under )?\d+)\s%"
SAID = (
    rf'<article class="fault">\s*<h3>(.*?)</h3>.*?<strong>{PER_CENT}</strong>',
    rf'<tr><th scope="row">(?:(?!</th>).)*?<strong>(.*?)</strong>.*?<td class="figure">{PER_CENT}',
    rf'<span class="node"><strong>(.*?)</strong>(?:(?!</span>\s*<ul>).)*?suspected, {PER_CENT}',
)
"""Fault cards, lists of suspects, and the tree."""


def numbers(page: str) -> dict[str, set[str]]:
    """Component -> every percentage the page gives it."""
    found: dict[str, set[str]] = defaultdict(set)
    for pattern in SAID:
        for name, share in re.findall(pattern, page, re.DOTALL):
            found[name].add(share)
    return found


def test_numbers_are_found() -> None:
    """The search sees two numbers where there are two."""
    card = '<article class="fault">\n<h3>A</h3><p><strong>{} %</strong></p></article>'
    assert numbers(card.format(98) + card.format(99)) == {"A": {"98", "99"}}


@pytest.mark.slow
def test_every_report_of_the_demo_gives_one(tmp_path: Path) -> None:
    tables = knowledge.load()
    told = 0
    for step in demo.play(tmp_path, tables):
        loaded = step.saved.loaded
        found = locate_case(loaded, tables)
        page = render(loaded.case, loaded.runs, found, tables)
        given = numbers(page)
        told += len(given)
        assert {name for name, shares in given.items() if len(shares) > 1} == set()
        if found.component is None:
            continue
        share = percent(found.probability)
        assert f"</strong>, {share}" in page
        assert share in found.sentence
        (named,) = (s for s in suspects(found, loaded.case.complaint, tables)
                    if s.lead.component == found.component)  # fmt: skip
        assert percent(named.probability) == share
        assert f"{share:>8}  {found.side}" in verdict(loaded, found, tables)
    assert told > 10


@pytest.mark.parametrize("name", sorted(variants.VARIANTS))
def test_other_reports_give_one(name: str) -> None:
    given = numbers(render(*variants.VARIANTS[name]()))
    assert {name for name, shares in given.items() if len(shares) > 1} == set()
