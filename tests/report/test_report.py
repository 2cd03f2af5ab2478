"""The rendered page: what it says, that it is whole, and that it is safe to open."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from string import Formatter

import msgspec
import pytest

from livecheck import wording
from livecheck.records import Outcome, Side, Value
from livecheck.report import render
from tests import factories, variants
from tests.report.pages import Page

ALL = pytest.mark.parametrize("make", variants.VARIANTS.values(), ids=variants.VARIANTS.keys())
Make = Callable[[], factories.Bench]
TEMPLATES = Path(__file__).parents[2] / "livecheck" / "report"


def shown(bench: factories.Bench) -> Page:
    return Page(render(*bench))


@ALL
def test_the_page_is_well_formed(make: Make) -> None:
    """Tags nest, ids are unique, every reference inside the page leads somewhere."""
    page = shown(make())
    assert page.faults == []
    ids = page.having("id")
    assert len(ids) == len(set(ids))
    wanted = [h.removeprefix("#") for h in page.having("href")] + page.having("aria-labelledby")
    assert set(wanted) <= set(ids)


@ALL
def test_a_strict_parser_takes_the_page(make: Make) -> None:
    html5lib = pytest.importorskip("html5lib", reason="html5lib is not installed")
    html5lib.HTMLParser(strict=True).parse(render(*make()))


@ALL
def test_the_page_loads_nothing_and_runs_nothing(make: Make) -> None:
    page = shown(make())
    tags = {tag for tag, _ in page.tags}
    assert not tags & {"script", "img", "link", "iframe", "object", "embed", "form", "base"}
    assert not any(name.startswith("on") for _, attrs in page.tags for name in attrs)
    assert not page.having("src") + page.having("srcset") + page.having("style")
    assert all(href.startswith("#") for href in page.having("href"))
    css = render(*make()).partition("<style>")[2].partition("</style>")[0]
    assert "url(" not in css
    assert "@import" not in css


@ALL
def test_the_page_can_be_saved_and_holds_no_hidden_character(make: Make) -> None:
    html = render(*make())
    html.encode("utf-8")
    assert wording.clean(html.replace("\n", "")) == html.replace("\n", "")


@ALL
def test_every_table_has_a_caption_and_headings_descend_one_by_one(make: Make) -> None:
    tags = [tag for tag, _ in shown(make()).tags]
    assert tags.count("table") == tags.count("caption")
    levels = [int(tag[1]) for tag in tags if re.fullmatch("h[1-6]", tag)]
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))


@ALL
def test_the_same_records_give_the_same_bytes(make: Make) -> None:
    assert render(*make()) == render(*make())


def test_hostile_strings_stay_text() -> None:
    html = render(*variants.hostile())
    assert "<script" not in html
    assert "<img" not in html
    assert "[U+202E]" in html
    assert "[U+001B]" in html
    assert "{{ 7 * 7 }}" in Page(html).text()


def test_the_verdict_comes_first_and_both_units_are_ordered() -> None:
    page = shown(factories.port_and_battery())
    words = page.text()
    assert words.index("two different drives failed") < words.index("Device faults")
    assert "Units to order mainboard, battery" in words
    assert "controller fault, 93 %, very likely" in page.text("verdict")


def test_device_and_controller_faults_stand_apart() -> None:
    page = shown(factories.port_and_battery())
    device, controller = page.text("device-h"), page.text("controller-h")
    assert "Penrock PB-52" in device
    assert "Order battery" in device
    assert "Penrock" not in controller
    assert "SATA port 1" in controller
    assert "93 %" in controller
    assert "Order mainboard" in controller


def test_a_reading_is_blamed_along_the_path_of_its_own_run() -> None:
    """Drive A failed in port 1 and now sits in port 2; the failure still counts for port 1."""
    page = shown(factories.port_and_battery())
    assert "38 transfers were damaged" in page.text("controller-h")
    path = page.text("path")
    assert re.search(r"SATA port 1 ?empty ?4 checks failed in runs 1, 2 at the part then", path)
    assert re.search(r"Tarnel TS480 ?4 checks passed ?2 failed in run 1, in SATA port 1", path)


def test_the_swap_table_says_what_each_run_showed() -> None:
    swaps = shown(factories.port_and_battery()).text("swaps")
    assert re.search(r"SATA port 1 suspected A drive Tarnel TS480 failed", swaps)
    assert re.search(r"B drive Ovik X250 known-good changed failed", swaps)
    assert re.search(r"A drive Tarnel TS480 changed passed 4 checks passed", swaps)
    assert "Pattern: stays with the place." in swaps


def test_a_part_tested_in_a_known_good_machine_shows_in_the_row_of_its_place() -> None:
    whole = factories.port_and_battery()
    there = msgspec.structs.replace(whole.runs[2], in_known_good_machine=True)
    swaps = shown(whole._replace(runs=(*whole.runs[:2], there))).text("swaps")
    assert "Run 3 in a known-good machine" in swaps
    assert "there in SATA port 2 passed" in swaps


def test_no_sign_and_not_tested_are_told_apart() -> None:
    sound = shown(factories.no_fault())
    assert "No sign of a device fault: 4 checks passed at 1 component." in sound.text("device-h")
    blank = shown(factories.no_readings())
    assert "Not tested: no check has given a result" in blank.text("device-h")
    assert "No sign" not in blank.text()
    assert "nothing can be said of any component" in blank.text("verdict")


def test_while_undetermined_nothing_is_ordered_and_cautions_stand_at_the_step() -> None:
    page = shown(factories.undetermined())
    assert "to order" not in page.text("step-h")
    assert "Static discharge" in page.text("step-h")
    assert "The errors go 55 %" in page.text("step-h")
    assert "drive Tarnel TS480 device fault 52 %" in page.text("verdict")
    assert "If at fault drive" in page.text("device-h")


def test_software_is_neither_side() -> None:
    page = shown(factories.software())
    assert "firmware file that is not installed" in page.text("software-h")
    assert "firmware file" not in page.text("device-h")
    assert "firmware file" not in page.text("controller-h")


def test_a_damaged_record_is_named_at_the_top_and_in_full() -> None:
    page = shown(factories.damaged())
    assert page.text().index("could not be read") < page.text().index("Verdict")
    assert "runs/0002/run.json: not a whole run record" in page.text("method")


def test_what_was_not_tested_says_why() -> None:
    missed = shown(factories.port_and_battery()).text("missed")
    assert "Camera picture no probe looks at pictures 1–3" in missed
    assert "Is the wireless firmware present? wireless card Lumenet W6 needs root" in missed


def test_identity_priors_and_signatures_are_there() -> None:
    page = shown(factories.port_and_battery())
    for wanted in ("QB14M-88120", "F14.09", "8 GiB", "serial:TN-48-0017"):
        assert wanted in page.text("identity")
    assert "Priors used: built-in." in page.text("method")
    assert "Technician" in page.text("sign-h")


@pytest.mark.parametrize("value", ["a", 3, 2.5, True, None, 10**30, float("inf"), -1])
def test_any_value_in_percent_can_be_shown(value: Value) -> None:
    whole = factories.port_and_battery()
    odd = msgspec.structs.replace(whole.runs[0].readings[0], value=value, unit="%")
    made = msgspec.structs.replace(whole.runs[0], readings=(odd,))
    assert shown(whole._replace(runs=(made,))).faults == []


def test_a_ring_of_controllers_loses_no_part() -> None:
    whole = factories.port_and_battery()
    stock = whole.runs[2].inventory
    a, b, c = stock.controllers
    ring = msgspec.structs.replace(
        stock,
        controllers=(
            msgspec.structs.replace(a, parent=b.id),
            msgspec.structs.replace(b, parent=a.id),
            c,
        ),
    )
    made = msgspec.structs.replace(whole.runs[2], inventory=ring)
    path = shown(whole._replace(runs=(made,))).text("path")
    assert all(part.name in path for part in ring.parts)


@pytest.mark.parametrize("side", list(Side))
def test_every_side_has_its_meaning_and_its_last_step(side: Side) -> None:
    whole = factories.port_and_battery()
    bare = msgspec.structs.replace(whole.location, side=side, sentence="", component=None)
    assert shown(whole._replace(location=bare)).text("verdict").startswith("Verdict")


def test_an_open_verdict_in_which_nothing_failed_sends_nobody_swapping() -> None:
    """No known-good part is asked for where no part is suspect."""
    whole = factories.port_and_battery()
    passed = tuple(
        msgspec.structs.replace(one, outcome=Outcome.PASSED) for one in whole.location.evidence
    )
    bare = msgspec.structs.replace(
        whole.location, side=Side.UNDETERMINED, component=None, unit=None, next_step=None,
        evidence=passed,
    )  # fmt: skip
    page = shown(whole._replace(location=bare))
    assert "too little was tested" in page.text("verdict")
    assert "Run the full tests" in page.text("step-h")
    assert "known-good part" not in page.text("step-h")


def test_the_catalogue_holds_every_text_the_page_asks_for_and_no_other() -> None:
    source = "".join(
        p.read_text("utf-8") for p in TEMPLATES.parent.rglob("*") if p.suffix in (".py", ".html")
    )
    quoted = set(re.findall(r"""["']([a-z0-9-]+(?:\.[a-z0-9-]+)+)["']""", source))
    # Keys put together from a record's word, such as ``meaning.<side>``.
    built = {"outcome", "presence", "side", "complaint", "meaning", "no-step", "faults", "change",
             "unit", "chance", "weight", "nav", "names", "runs", "verdict", "became", "guide",
             "check-table", "say", "record-format", "suspects", "behind", "way-on",
             "customer", "voice"}  # fmt: skip
    # Keys put together where they are asked for, such as ``resume.pick-{field}``.
    begun = tuple(set(re.findall(r"""f["']([a-z-]+\.[a-z-]*)\{""", source)))
    dead = []
    for key in wording.catalogue():
        stem = re.sub(r"\.(one|other)$", "", key)
        put_together = key.partition(".")[0] in built or key.startswith(begun)
        if key not in quoted and stem not in quoted and not put_together:
            dead.append(key)
    assert dead == []


def test_every_text_is_a_plain_format() -> None:
    for key, told in wording.catalogue().items():
        fields = [f for _, f, spec, _ in Formatter().parse(told) if f is not None and not spec]
        assert all(f.isidentifier() for f in fields), key


@pytest.mark.parametrize("broken", ["<p><b>x</p></b>", "<ul><li>x</ul>", '<p id="a" id="b"></p>'])
def test_the_check_of_pages_finds_broken_ones(broken: str) -> None:
    assert Page(broken).faults


def test_a_contact_is_neither_a_device_nor_a_controller_fault() -> None:
    page = shown(factories.undetermined())
    words = "contact between Tarnel TS480 and SATA port 1"
    assert words in page.text("contact-h")
    assert "Put right contact" in page.text("contact-h")
    assert words not in page.text("device-h") + page.text("controller-h")


def test_a_second_fault_is_ordered_for_only_when_it_is_nearly_certain() -> None:
    whole = factories.port_and_battery()
    worn = msgspec.structs.replace(whole.location.candidates[0], probability=0.64)
    found = msgspec.structs.replace(
        whole.location, candidates=(worn, *whole.location.candidates[1:])
    )
    page = shown(whole._replace(location=found))
    assert "Unit to order mainboard" in page.text("step-h")
    assert "battery" not in page.text("step-h")
    assert "A device may be at fault." in page.text("device-h")
    assert "If at fault battery" in page.text("device-h")
