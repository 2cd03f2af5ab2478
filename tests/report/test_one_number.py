"""One question, one number: whatever a page says of one component's chance is the same."""

from __future__ import annotations

import re
from collections import defaultdict
from pathlib import Path

import msgspec
import pytest

from livecheck import cli, demo, knowledge
from livecheck.casefile import CaseFolder
from livecheck.chances import percent
from livecheck.console.judged_case import JudgedCase
from livecheck.console.verdict_lines import verdict_lines
from livecheck.diagnosis import locate, worksheet
from livecheck.diagnosis.worksheet_machine import machine
from livecheck.diagnosis.worksheet_table import Label
from livecheck.judgement import locate_case
from livecheck.plan import WORKSHEETS
from livecheck.printing import verdict
from livecheck.records import Complaint, Knowledge, Location, Run
from livecheck.records.answer_words import understood
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
        _open_sentence_agrees(found, loaded.case.complaint, tables)
        if found.component is None:
            continue
        share = percent(found.probability)
        assert f"</strong>, {share}" in page
        assert share in found.sentence
        (named,) = (s for s in suspects(found)
                    if s.lead.component == found.component)  # fmt: skip
        assert percent(named.probability) == share
        assert f"{share:>9}  {found.side}" in verdict(loaded, found, tables)
    assert told > 10


def _open_sentence_agrees(found: Location, complaint: Complaint, tables: Knowledge) -> None:
    """While nothing is named the sentence has the number of the suspect that leads the list."""
    if found.sentence.startswith("Not settled yet: most likely"):
        lead = suspects(found)[0]
        assert f", {percent(lead.probability)}." in found.sentence


@pytest.mark.parametrize("how", ["same", "looked inside"])
def test_a_board_that_leads_has_one_number(how: str) -> None:
    """Its number is that of any of its members, which is no sum of theirs."""
    answers: dict[str, float | str] = {
        "signs-of-life": "no", "adapter-loaded-voltage": 20.1, "usb-c-current": 0.0,
        "usb-c-agreed": 20.0, "rail-resistance": 11e3, "button": 1.0,
    }  # fmt: skip
    label = Label(volts=20.0, amps=5.0, supply="usb-pd")
    readings = worksheet.judge(answers, label, knowledge.worksheet())
    run = Run(number=1, started="2024-01-01T09:00:00Z", complaint=Complaint.NO_POWER,
              inventory=machine(), readings=readings)  # fmt: skip
    again = msgspec.structs.replace(run, number=2, answers=(understood("machine", how),))
    tables = knowledge.load()
    for runs in ((run,), (run, again)):
        found = locate("bench", runs, tables)
        assert "on the mainboard" in found.sentence
        _open_sentence_agrees(found, Complaint.NO_POWER, tables)


@pytest.mark.parametrize("name", sorted(variants.VARIANTS))
def test_other_reports_give_one(name: str) -> None:
    given = numbers(render(*variants.VARIANTS[name]()))
    assert {name for name, shares in given.items() if len(shares) > 1} == set()


def listed(text: str) -> list[list[float]]:
    """The lists of a verdict: what bears on the complaint, and what was found besides."""
    found: list[list[float]] = [[], []]
    for over, share, rest in re.findall(r"^ +(over |under )?(\d+)\s%  (\w.*)$", text, re.M):
        besides = "(besides the complaint)" in rest
        found[besides].append(float(share) + {"over ": 0.5, "under ": -0.5, "": 0.0}[over])
    return found


@pytest.mark.slow
@pytest.mark.parametrize("complaint", sorted(set(Complaint) - set(WORKSHEETS)))
@pytest.mark.parametrize("name", ["port-1", "drive-1", "contact-1"])
def test_the_headline_leads_a_list_in_order(
    name: str, complaint: Complaint, tmp_path: Path
) -> None:
    """Whatever is complained of: what cannot be that stands besides, however likely it is."""
    source = str(Path(demo.__file__).parent / f"{name}.capture.gz")
    words = ["run", "--from", source, "--complaint", complaint, "--shop", str(tmp_path)]
    assert cli.main(words) == 0
    (file,) = tmp_path.glob("livecheck-cases/*/case.json")
    loaded, tables = CaseFolder(file.parent).load(), knowledge.load()
    found = locate_case(loaded, tables)
    printed = verdict(loaded, found, tables)
    first = re.search(rf"^Not settled yet: most likely .*?, {PER_CENT}\.$", printed, re.M)
    bearing, besides = listed(printed)
    assert bearing == sorted(bearing, reverse=True)
    assert besides == sorted(besides, reverse=True)
    if first is not None:
        assert float(first[1]) == bearing[0]
    case = JudgedCase(loaded=loaded, location=found, tables=tables, report="")
    rows = [line.text for line in verdict_lines(case) if (line.key or "").startswith("component:")]
    shares = [percent(one.probability) for one in suspects(found)]
    assert [row.strip().partition("  ")[0] for row in rows] == shares
