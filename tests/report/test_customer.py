"""The customer's page: page one, its three answers on top, nothing invented."""

from __future__ import annotations

import gzip
import re
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from livecheck import cli, demo, knowledge
from livecheck.case_index.settings import Priors, Settings, read_settings
from livecheck.diagnosis.steps.actions import Action
from livecheck.judgement import ruled_out
from livecheck.offers import REPAIRS
from livecheck.records import (
    AllPowerAway,
    Answer,
    Case,
    Complaint,
    ComplaintShows,
    NextStep,
    Outcome,
    Reading,
    SettingPutRight,
    Side,
    WhereShown,
)
from livecheck.records.shop import ShopFacts
from livecheck.report import render
from livecheck.wording import text
from tests import factories
from tests.bench_stories.stories import new_drive
from tests.diagnosis.story import BATTERY, CARD, Story, tables
from tests.report.browser import Browser, browser
from tests.shop_file import write_shop_file
from tests.testbeds.build_demo import contents
from tests.testbeds.stories import port_2

SHOP = ShopFacts(
    name="Werkbank am Markt", address="Marktgasse 3", currency="EUR", hour=60.0,
    prices={"drive": 79.0}, spares=("drive",), second_machine=False, never=("re-flash firmware",),
)  # fmt: skip
PRINTED = round((210 - 24) / 25.4 * 96)
"""An A4 sheet's 210 mm less two margins of 12 mm, at 96 px an inch (CSS Values 3, 6.2)."""
THIRD = 297 / 25.4 * 96 / 3
ENDS = (
    "[...document.querySelectorAll('#customer h1, #customer .answers > div')]"
    ".map(e => [e.textContent.trim().slice(0, 20), e.getBoundingClientRect().bottom])"
)
"""Where each answer on the customer's page ends."""


def told(html: str) -> dict[str, str]:
    """What the page answers, by its question."""
    page = html.partition('id="customer"')[2].partition("</section>")[0]
    rows = re.findall(r"<dt>(.*?)</dt><dd>(.*?)</dd>", page, re.DOTALL)
    return {ask: " ".join(re.sub(r"<[^>]*>", " ", says).split()) for ask, says in rows}


def _replayed(shop: Path) -> str:
    source = str(Path(demo.__file__).parent / "drive-1.capture.gz")
    assert cli.main(["run", "--from", source, "--complaint", "slow", "--shop", str(shop)]) == 0
    (page,) = shop.glob("livecheck-cases/*/report.html")
    return page.read_text("utf-8")


def test_a_broken_drive_with_the_shops_own_prices(tmp_path: Path) -> None:
    """79.00 for the drive; the work is its minutes at 60.00 an hour; the sum is their sum."""
    write_shop_file(tmp_path, SHOP)
    html = _replayed(tmp_path)
    answers = told(html)
    assert "Werkbank am Markt" in html
    assert "Broken: drive Ostrevar N4 512GB." in html
    assert answers["Are your data safe?"].startswith("They are at risk")
    assert answers["What we propose"].startswith("Replace: drive")
    prices = [float(figure) for figure in re.findall(r"([\d.]+) EUR", answers["What it costs"])]
    assert prices[0] == 79.0
    assert prices[2] == pytest.approx(prices[0] + prices[1])
    (minutes,) = re.findall(r"about (\d+)\s*min", html)[:1]
    assert prices[1] == pytest.approx(float(minutes), abs=0.5)


def test_what_was_also_found_is_parted_as_a_list_is(tmp_path: Path) -> None:
    """A sentence of a finding ends where the next thing begins, and not with “.,”."""
    source = str(Path(demo.__file__).parent / "port-1.capture.gz")
    words = ["run", "--from", source, "--complaint", "unstable", "--shop", str(tmp_path)]
    assert cli.main(words) == 0
    (page,) = tmp_path.glob("livecheck-cases/*/report.html")
    also = told(page.read_text("utf-8"))["Also found"]
    assert "; " in also and ".," not in also and ".;" not in also


def test_what_is_tried_first_is_not_the_price_of_the_repair() -> None:
    """A board is proposed after a reseat of minutes: its work is that of the board."""
    whole = factories.port_and_battery()
    first = NextStep(action="reseat", target="ata:1", minutes=5.0, why="")
    repair = NextStep(action="replace", target="ata:1", minutes=124.0, why="")
    found = msgspec.structs.replace(whole.location, next_step=first, alternatives=(repair,))
    tables = msgspec.structs.replace(whole.knowledge, shop=SHOP)
    answers = told(render(whole.case, whole.runs, found, tables))
    assert answers["What we propose"].startswith("First, as it costs little: the part is")
    assert "bench 124.00 EUR" in answers["What it costs"]


def test_without_prices_the_page_leaves_room_for_them(tmp_path: Path) -> None:
    answers = told(_replayed(tmp_path))
    assert answers["What it costs"].count("to be filled in") == 3
    assert not re.search(r"\d", answers["What it costs"].replace("drive", ""))


@pytest.mark.parametrize(
    ("outcome", "says"),
    [(Outcome.FAILED, "They are at risk"), (Outcome.PASSED, "Nothing that was tested speaks"),
     (Outcome.NOT_JUDGED, "Not tested")],
)  # fmt: skip
def test_what_is_said_of_the_data_was_read(outcome: Outcome, says: str) -> None:
    whole = factories.port_and_battery()
    tables = knowledge.load()
    runs = tuple(
        msgspec.structs.replace(
            run,
            readings=tuple(
                msgspec.structs.replace(r, outcome=outcome)
                for r in run.readings
                if r.check in tables.checks and tables.checks[r.check].symptom_group == "medium"
            ),
        )
        for run in whole.runs
    )
    if outcome is not Outcome.NOT_JUDGED:
        assert any(run.readings for run in runs)
    html = render(whole.case, runs, whole.location, tables)
    assert told(html)["Are your data safe?"].startswith(says)


@pytest.mark.parametrize(
    ("at", "check", "says"),
    [
        (factories.CUSTOMERS, "storage.read-errors", "They are at risk: a drive in"),
        (factories.CUSTOMERS, "kernel.mmc", "They are at risk: a drive in"),
        ("mmc:mmc1", "kernel.mmc", "Nothing that was tested speaks"),
        ("drive:WENT-OUT", "storage.read-errors", "They are at risk: the drive that was taken out"),
        (factories.CUSTOMERS, "kernel.storage-locked", "Not known: a drive gives out nothing"),
        (factories.CUSTOMERS, "storage.answers", "Not known: a drive gives out nothing"),
    ],
)
def test_the_data_are_called_safe_only_where_they_were_read(at: str, check: str, says: str) -> None:
    """A drive that was swapped out takes the data with it; a locked one gave nothing back."""
    whole, all_of = factories.port_and_battery(), knowledge.load()
    bad = Reading(check=check, at=at, outcome=Outcome.FAILED, source="x")
    good = [Reading(check="storage.read-errors", at=one, outcome=Outcome.PASSED, source="x")
            for one in ("drive:ELSE", at) if check != "storage.read-errors"]  # fmt: skip
    first = msgspec.structs.replace(whole.runs[0], readings=(*good, bad))
    last = msgspec.structs.replace(first, number=2, readings=())
    html = render(whole.case, (first, last), whole.location, all_of)
    assert told(html)["Are your data safe?"].startswith(says)


def test_every_step_has_words_for_the_customer() -> None:
    """Nobody but a technician knows what a minimum configuration is."""
    for action in set(Action) - set(REPAIRS):
        words = text(f"customer.step-{action.replace(' ', '-')}", target="drive X1")
        assert words[0].islower() and not words.startswith(action.value)


def test_what_was_mended_is_not_proposed_again(tmp_path: Path) -> None:
    """The spare that proved the repair is fitted: nobody needs to agree to the exchange now."""
    _replayed(tmp_path)
    (case,) = (file.parent for file in tmp_path.glob("livecheck-cases/*/case.json"))
    new = tmp_path / "new.capture.gz"
    new.write_bytes(gzip.compress(contents(new_drive()), 1))
    words = ["run", "--from", str(new), "--complaint", "slow", "--case", str(case)]
    assert cli.main([*words, "--shop", str(tmp_path)]) == 0
    answers = told((case / "report.html").read_text("utf-8"))
    assert answers["What we propose"].startswith("This was done")
    assert answers["Are your data safe?"].startswith("They are at risk: the drive that was taken")


def test_what_was_found_at_the_shops_own_part_is_not_the_customers_matter(tmp_path: Path) -> None:
    spare = tmp_path / "spare.capture.gz"
    spare.write_bytes(gzip.compress(contents(port_2()), 1))
    words = ["run", "--from", str(spare), "--complaint", "unstable", "--shop", str(tmp_path)]
    for known_good, told_of in (((), True), (("--known-good", "serial:OSV120BENCH3"), False)):
        assert cli.main([*words, "--ticket", str(told_of), *known_good]) == 0
        (page,) = tmp_path.glob(f"livecheck-cases/*{told_of}/report.html")
        also = told(page.read_text("utf-8"))["Also found"]
        assert ("OSTREVAR S3 120GB" in also) is told_of


def test_what_the_shop_cannot_do_is_not_proposed() -> None:
    """No such spare, no second machine, what is never offered: as if ticked off."""
    tables = msgspec.structs.replace(knowledge.load(), shop=SHOP)
    barred = ruled_out(tables)
    assert "no spare: drive" not in barred
    assert {"no spare: battery", "no known-good machine", "re-flash firmware"} <= set(barred)
    assert ruled_out(knowledge.load()) == ()


def test_what_the_shop_says_is_read(tmp_path: Path) -> None:
    chosen = Settings(priors=Priors(outcomes=False), shop=SHOP)
    write_shop_file(tmp_path, SHOP, learns=False)
    assert read_settings(tmp_path) == chosen


@pytest.fixture(scope="module")
def shown() -> Iterator[Browser]:
    with browser() as running:
        yield running


@pytest.mark.slow
@pytest.mark.parametrize(
    ("language", "needed"),
    [
        ("en", ("Broken", "Are your data", "What it costs")),
        ("de", ("Defekt", "Sind Ihre Daten", "Was es kostet")),
        ("es", ("Averiado", "¿Están a salvo", "Qué cuesta")),
    ],
)
def test_ten_seconds_are_enough(
    language: str, needed: tuple[str, ...], tmp_path: Path, shown: Browser
) -> None:
    """On the first third of an A4 sheet: what is broken, are the data safe, what it costs."""
    write_shop_file(tmp_path, msgspec.structs.replace(SHOP, customer_language=language))
    _replayed(tmp_path)
    (page,) = tmp_path.glob("livecheck-cases/*/report.html")
    shown.open(page, width=PRINTED, media="print")
    ends = shown.evaluate(ENDS)
    low = {name: next(y for words, y in ends if words.startswith(name)) for name in needed}
    assert max(low.values()) <= THIRD, low


@pytest.mark.parametrize(
    ("unit", "side", "words"),
    [
        ("firmware", Side.CONTROLLER, "Write the maker"),
        ("software", Side.SOFTWARE, "Save your data"),
    ],
)
def test_what_is_written_anew_is_not_proposed_to_be_replaced(
    unit: str, side: Side, words: str
) -> None:
    """Common practice, no source: what is put right is no unit to buy, nor has it a price."""
    whole = factories.port_and_battery()
    found = msgspec.structs.replace(
        whole.location, side=side, unit=unit, next_step=None, alternatives=()
    )
    tables = msgspec.structs.replace(whole.knowledge, kinds=knowledge.load().kinds)
    answers = told(render(whole.case, whole.runs, found, tables))
    assert answers["What we propose"].startswith(words)
    assert "Price work" in answers["What it costs"]


def _cured(complaint: Complaint, failed: str, cure: Answer) -> Story:
    """Seen outside the installed system too; treated, and not seen since."""
    story = Story(complaint)
    story.run(failed, "complaint.outside machine")
    away = Reading(check="complaint.outside", at="machine", outcome=Outcome.PASSED)
    for answers in ((cure,), (), (), ()):
        story.run(told=(*answers, ComplaintShows(where=WhereShown.NOWHERE)))
        now = story.runs[-1]
        story.runs[-1] = msgspec.structs.replace(now, readings=(*now.readings, away))
    return story


@pytest.mark.parametrize(
    ("story", "named", "broken", "proposal"),
    [
        (_cured(Complaint.PART_MISSING, f"wireless.blocked {CARD.id}",
                SettingPutRight(component=CARD.id)),
         "setting", "a setting explains it", "the setting is put right"),
        (_cured(Complaint.NOT_CHARGING, f"power.charging {BATTERY.id}", AllPowerAway()),
         "hung-controller", "hung until it had no power", "all power is taken away"),
    ],
    ids=["setting", "hung"],
)  # fmt: skip
def test_what_a_treatment_cured_is_no_open_question(
    story: Story, named: str, broken: str, proposal: str
) -> None:
    """Readings in, page out: one answer in headline, verdict and proposal, and nothing to buy."""
    found = story.locate()
    assert found.component == named and found.put_right == named and found.unit is None
    page = render(Case(id="S-14", opened=story.runs[0].started), story.runs, found, tables())
    answers = told(page)
    assert broken in page.partition("</section>")[0]
    assert answers["What we propose"].startswith("Nothing has to be bought")
    assert proposal in answers["What we propose"]
    assert "nothing to order" in page and "not determined yet" not in page
    assert "fits more than one explanation" not in page
    assert not any(line.startswith("What speaks against") for line in found.explanation)
