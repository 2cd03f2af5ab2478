"""A shop whose customers read another language: their part of the report, and nothing else.

The pseudo-language has the keys of a translation; what is not bracketed came past it. Plural
forms, decimal signs and grouping: Unicode CLDR for de and es (from memory).
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from string import Formatter
from typing import Final

import msgspec
import pytest
from markupsafe import escape

from livecheck import cli, demo, knowledge, signing, wording
from livecheck.casefile import CaseFolder
from livecheck.diagnosis.steps.actions import Action
from livecheck.judgement import locate_case, shop_tables
from livecheck.languages import speaking as in_language
from livecheck.offers import BOARD_LEVEL, REPAIRS, WORKAROUND, money
from livecheck.records import (
    Complaint,
    GoesBack,
    NextStep,
    NotTested,
    Outcome,
    Part,
    ProbeRun,
    Reading,
    Side,
    ToldLine,
)
from livecheck.records.shop import ShopFacts
from livecheck.report import customer, render, view
from tests import factories, variants
from tests.console.spoken_screens import other_words
from tests.report import customers_part
from tests.report.every_page import hand_over

FOREIGN: Final = ("de", "es")
SHARED: Final = Path(__file__).parents[2] / "shared"
SHOP: Final = {
    "name": "Werkbank am Markt", "address": "Marktgasse 3", "currency": "EUR", "hour": 60.0,
    "worth": 300.0, "prices": {"mainboard": 1340.0, BOARD_LEVEL: 150.0, WORKAROUND: 19.5},
}  # fmt: skip
WHOLE: Final = ("customer", "offers", "hand-over", "became", "sign", "complaint", "chance",
                "say.percent", "names")  # fmt: skip
"""Sections of the catalogue that a translation has all of."""
NOT_THEIRS: Final = ("hand-over.told", "hand-over.title-", "hand-over.unclaimed",
                     "hand-over.before", "hand-over.now", "hand-over.never", "offers.instead",
                     "names.or", "names.more")  # fmt: skip
"""Keys in them that only the technician reads."""
MORE: Final = {"hand-over.soaked": {"time"}}
"""Fields that English leaves out, as what the probe said holds them."""


PUT_RIGHT: Final = ("contact", "hung-controller", "setting")
"""What is named and is neither side's: nothing else is, while that is not settled."""


def table(name: str) -> dict[str, dict[str, object]]:
    return tomllib.loads((SHARED / name).read_text("utf-8"))


def texts(language: str) -> Mapping[str, str]:
    return wording.catalogue(language)


def shop(language: str) -> ShopFacts:
    return msgspec.convert({**SHOP, "customer_language": language}, ShopFacts)


def speaking(bench: factories.Bench, language: str, *, own: bool = False) -> factories.Bench:
    """The case at a shop of that language; with the program's own tables unless ``own``."""
    tables = bench.knowledge if own else knowledge.load()
    facts = shop(language)
    return bench._replace(knowledge=msgspec.structs.replace(tables, shop=facts))


@pytest.fixture(autouse=True)
def _pseudo(monkeypatch: pytest.MonkeyPatch) -> None:
    """One more language: the keys of the first translation."""
    real = wording.catalogue
    made = customers_part.pseudo(real(FOREIGN[0]))

    def catalogue(language: str = "en") -> Mapping[str, str]:
        return made if language == customers_part.PSEUDO else real(language)

    for module in (wording, customer, signing, view):
        monkeypatch.setattr(module, "catalogue", catalogue)
    monkeypatch.setattr("livecheck.languages.LANGUAGES", ("en", *FOREIGN, customers_part.PSEUDO))


# --- The translations hold what is asked of them.


@pytest.mark.parametrize("language", FOREIGN)
def test_a_translation_lacks_nothing_and_has_nothing_over(language: str) -> None:
    """Beside the catalogue's keys: kinds and workarounds of components.toml, what a finding says,
    and what is handed over with a machine."""
    english, own = texts("en"), texts(language)
    wanted = {
        key for key in english
        if key.startswith(tuple(f"{one}." for one in WHOLE)) and not key.startswith(NOT_THEIRS)
    }  # fmt: skip
    kinds = table("components.toml")
    more = {f"kind.{kind}" for kind in kinds}
    more |= {f"workaround.{kind}" for kind, row in kinds.items() if "workaround" in row}
    checks = table("checks.toml").items()
    more |= {f"finding.{name.replace('.', '-')}" for name, row in checks if row.get("finding")}
    handed = table("intake.toml")["handed"]["choices"]
    assert isinstance(handed, list)
    more |= {f"handed.{one.replace(' ', '-')}" for one in handed if one != "nothing"}
    assert wanted | more <= own.keys(), sorted((wanted | more) - own.keys())
    # What a technician reads on the console: tests/console/test_languages.py holds it whole.
    more |= other_words().keys()
    over = {key for key in own.keys() - english.keys() - more
            if not key.startswith("socket-side.")}  # fmt: skip
    assert not over, sorted(over)


@pytest.mark.parametrize("language", FOREIGN)
def test_a_translation_fills_no_field_that_nobody_gives(language: str) -> None:
    english = {**texts("en"), **other_words()}
    for key, said in texts(language).items():
        mine = {field for _, field, _, _ in Formatter().parse(said) if field}
        given = {field for _, field, _, _ in Formatter().parse(english.get(key, "")) if field}
        assert mine <= given | MORE.get(key, set()), key


def test_translations_have_the_same_keys() -> None:
    one, other = (set(texts(language)) for language in FOREIGN)
    assert one ^ other == set()


@pytest.mark.parametrize("language", FOREIGN)
def test_a_translation_is_one(language: str) -> None:
    """What is word for word English was forgotten, but for what both languages say alike."""
    english = {**texts("en"), **other_words()}
    alike = {
        key for key, said in texts(language).items()
        if said == english.get(key) and not key.startswith(("unit.", "key-name."))
        and any(map(str.isalpha, "".join(literal for literal, *_ in Formatter().parse(said))))
    }  # fmt: skip
    assert alike <= {
        "sign.name", "value.no", "key.no", "side.software", "kind.firmware", "worksheet.in",
        "worksheet.usb-c", "measure-choice.no", "trait.ranks", "guide.sensors.title",
        "intake-choice.missing.bluetooth", "guide-answer.no",
        "run.root", "learned.factor", "identity.firmware", "identity.version", "page.title",
        "unit.frames.one", "unit.frames.other",
    }  # fmt: skip


@pytest.mark.parametrize("language", FOREIGN)
def test_every_step_has_words(language: str) -> None:
    words = {f"customer.step-{action.replace(' ', '-')}" for action in set(Action) - set(REPAIRS)}
    assert words <= texts(language).keys()


# --- Figures.


@pytest.mark.parametrize(
    ("language", "amount", "shown"),
    [
        ("en", 1234.5, "1,234.50 EUR"),
        ("de", 79.0, "79,00 EUR"),
        ("de", 1234.5, "1.234,50 EUR"),
        ("es", 1234.5, "1234,50 EUR"),
        ("es", 12345.5, "12.345,50 EUR"),
    ],
)
def test_money_is_written_as_the_language_does(language: str, amount: float, shown: str) -> None:
    with in_language(language):
        said = money(amount, shop(language))
    assert said is not None and said.replace("\u00a0", " ") == shown


def test_a_decimal_comma() -> None:
    with in_language("de"):
        assert wording.figure(19.48) == "19,48"
    assert wording.figure(19.48) == "19.48"


@pytest.mark.parametrize(
    ("language", "one", "two"),
    [("de", "einem Fehler", "2 Fehlern"), ("es", "un fallo", "2 fallos")],
)
def test_plural_forms(language: str, one: str, two: str) -> None:
    with in_language(language):
        assert one in wording.count("hand-over.declined", 1)
        assert two in wording.count("hand-over.declined", 2)


# --- Nothing comes past the catalogue.


def _steps() -> Iterator[tuple[str, factories.Bench]]:
    """Each step at a part, at a place and at the machine, before the repair."""
    whole = factories.port_and_battery()
    for action in Action:
        for target in (factories.PORT_1, factories.SPARE, "machine", "firmware"):
            step = NextStep(action=action, target=target, minutes=5.0, why="w")
            found = msgspec.structs.replace(whole.location, next_step=step)
            yield f"step {action} {target}", whole._replace(location=found)


def _named() -> Iterator[tuple[str, factories.Bench]]:
    """Each kind of component as what is at fault, and as what is found besides."""
    whole, tables = factories.port_and_battery(), knowledge.load()
    lead = whole.location.candidates[0]
    for kind, row in tables.kinds.items():
        bare = Part(id=f"{kind}@x", kind=kind, name=kind.replace("-", " "), place="x")
        runs = tuple(
            msgspec.structs.replace(run, inventory=msgspec.structs.replace(
                run.inventory, parts=(*run.inventory.parts, bare)))
            for run in whole.runs
        )  # fmt: skip
        own_side = Side.UNDETERMINED if row.unit in PUT_RIGHT else Side.DEVICE
        for side in dict.fromkeys((own_side, Side.CONTROLLER)):
            own = msgspec.structs.replace(
                lead, component=bare.id, kind=kind, name=bare.name, unit=row.unit, side=side
            )
            found = msgspec.structs.replace(
                whole.location, candidates=(own, *whole.location.candidates), side=side,
                component=bare.id, unit=row.unit, next_step=None,
            )  # fmt: skip
            yield f"kind {kind} {side}", whole._replace(location=found, runs=runs)
        open_yet = msgspec.structs.replace(found, component=None, unit=None)
        yield f"lead {kind}", whole._replace(location=open_yet, runs=runs)
    for side in Side:
        found = msgspec.structs.replace(
            whole.location, candidates=(), side=side, component=None, unit=None, next_step=None
        )
        yield f"side {side}", whole._replace(location=found)
    free = msgspec.structs.replace(whole.location, unit=None, next_step=None)
    yield "nothing to order", whole._replace(location=free)
    fit = NextStep(action=Action.REPLACE, target=lead.component, minutes=5.0, why="w")
    trial = msgspec.structs.replace(free, component=None, next_step=fit)
    yield "bought as a trial", whole._replace(location=trial)


def _found_besides() -> Iterator[tuple[str, factories.Bench]]:
    """Each check that is told for what it is, failed; and each state of the data."""
    whole = factories.port_and_battery()
    findings = [name for name, row in table("checks.toml").items() if row.get("finding")]
    for check in (*findings, "storage.read-errors", "storage.answers", "kernel.storage-locked"):
        for outcome in (Outcome.FAILED, Outcome.PASSED):
            failed = Reading(check=check, at=factories.BATTERY, outcome=outcome, source="x",
                             says="The probe said so.", value=0.5, unit="share")  # fmt: skip
            last = msgspec.structs.replace(whole.runs[-1], readings=(failed,))
            yield f"{check} {outcome}", whole._replace(runs=(*whole.runs[:-1], last))


def _of_the_case() -> Iterator[tuple[str, factories.Bench]]:
    whole = factories.port_and_battery()
    for complaint in Complaint:
        runs = tuple(msgspec.structs.replace(run, complaint=complaint) for run in whole.runs)
        case = msgspec.structs.replace(whole.case, complaint=complaint, ticket=None)
        yield f"complaint {complaint}", whole._replace(case=case, runs=runs)
    last = msgspec.structs.replace(whole.runs[-1], finished=False)
    yield "cut off", whole._replace(runs=(*whole.runs[:-1], last))
    stopped = msgspec.structs.replace(last, stopped=True)
    yield "stopped", whole._replace(runs=(*whole.runs[:-1], stopped))


def _hand_overs() -> Iterator[tuple[str, factories.Bench]]:
    """Signed off and refused, for each reason there is."""
    bad, good = Outcome.FAILED, Outcome.PASSED
    for outcomes in ((bad, good), (bad, bad), (bad, good, bad), (good, bad), (good, good),
                     (bad, Outcome.NOT_JUDGED)):  # fmt: skip
        yield f"hand-over {outcomes}", hand_over(*outcomes)
    whole = hand_over(bad, bad)
    last, drive = whole.runs[-1], whole.runs[-1].readings[0].at

    def with_last(**changes: object) -> factories.Bench:
        return whole._replace(runs=(whole.runs[0], msgspec.structs.replace(last, **changes)))

    yield "declined", with_last(answers=(GoesBack(component=drive, words="Ich WILL es so"),))
    yield "cut off at the end", with_last(finished=False)
    left = ProbeRun(probe="storage", seconds=1.0, ended="did not answer", says="it hung")
    yield "left out", with_last(probes=(left,))
    yield "missed", with_last(not_tested=(NotTested(what="w", why="y"),) * 2)
    yield "gone", with_last(inventory=factories.inventory(()), readings=())
    part = next(p for p in last.inventory.parts if p.id == drive)
    yield "lent", with_last(known_good=(part.identity or "",))
    swollen = Reading(check="intake.swollen", at=factories.BATTERY, outcome=bad, source="x")
    yield "unsafe", with_last(readings=(swollen,))
    soak = Reading(check="soak.endured", at="machine", outcome=good, source="x", says="It stood.")
    for outcome in Outcome:
        stood = msgspec.structs.replace(soak, outcome=outcome)
        soaked = with_last(soak_hours=4.5, readings=(stood,))
        told = (
            ToldLine(about="often", words="once a day"),
            ToldLine(about="handed", words="adapter"),
        )
        yield (
            f"soaked {outcome}",
            soaked._replace(case=msgspec.structs.replace(soaked.case, told=told)),
        )


def _all() -> dict[str, factories.Bench]:
    made: list[tuple[str, factories.Bench]] = [
        (name, make()) for name, make in variants.VARIANTS.items()
        if name not in ("hostile", "long-names")
    ]  # fmt: skip
    for more in (_steps, _named, _found_besides, _of_the_case, _hand_overs):
        made += list(more())
    return dict(made)


def test_nothing_of_the_customers_part_comes_past_the_catalogue() -> None:
    wrong: dict[str, list[str]] = {}
    for name, bench in _all().items():
        spoken = speaking(bench, customers_part.PSEUDO)
        names = customers_part.makers_names(
            bench.runs, spoken.knowledge.shop, bench.case.ticket or "", "Ich WILL es so"
        )
        found = customers_part.stray(render(*spoken), names)
        wrong |= {name: found} if found else {}
    assert wrong == {}


def test_the_net_holds_what_it_is_to_hold() -> None:
    """English rendered as if it were bracketed: nearly every word is a stray one."""
    bench = speaking(factories.port_and_battery(), "en")
    assert len(customers_part.stray(render(*bench), [])) > 50


@pytest.mark.parametrize("name", ["drive-1", "port-1", "contact-1"])
def test_recorded_machines_too(name: str, tmp_path: Path) -> None:
    """From a capture to the page, with the names the inventory itself gives."""
    source = Path(demo.__file__).parent / f"{name}.capture.gz"
    words = ["run", "--from", str(source), "--complaint", "unstable", "--shop", str(tmp_path)]
    assert cli.main(words) == 0
    (folder,) = (file.parent for file in tmp_path.glob("livecheck-cases/*/case.json"))
    loaded = CaseFolder(folder).load()
    facts = shop(customers_part.PSEUDO)
    tables = msgspec.structs.replace(knowledge.load(), shop=facts)
    html = render(loaded.case, loaded.runs, locate_case(loaded, tables), tables)
    names = customers_part.makers_names(loaded.runs, facts, loaded.case.ticket or "")
    assert customers_part.stray(html, names) == []


# --- Only the customer's part, and said to be so.


@pytest.mark.parametrize("language", FOREIGN)
@pytest.mark.parametrize("outcomes", [(), (Outcome.FAILED, Outcome.PASSED)])
def test_the_language_is_told_and_the_rest_stays_english(
    language: str, outcomes: tuple[Outcome, ...]
) -> None:
    """WCAG 2.2, 3.1.2: the language of each passage can be programmatically determined."""
    bench = hand_over(*outcomes) if outcomes else factories.port_and_battery()
    html = render(*speaking(bench, language))
    own = customers_part.part(html)
    assert customers_part.languages(own) == {language}
    assert html.startswith('<!DOCTYPE html>\n<html lang="en">')
    rest = html.partition(own)[2]
    assert "Verdict" in rest and "What it means" in rest
    assert language not in customers_part.languages(rest)


def test_a_technician_reads_at_a_hand_over_what_the_checks_said() -> None:
    html = render(*speaking(hand_over(Outcome.FAILED, Outcome.PASSED), "de"))
    own = customers_part.part(html)
    rest = html.partition(own)[2]
    assert "passes now" in rest and "passes now" not in own
    question = knowledge.load().checks["storage.medium-errors"].question
    assert escape(question) in rest.partition('id="before-after"')[2].partition("</section>")[0]


@pytest.mark.parametrize(
    ("language", "word"),
    [("en", "INCOMPLETE: "), ("de", "UNVOLLSTÄNDIG: "), ("es", "INCOMPLETA: ")],
)
@pytest.mark.parametrize("stopped", [False, True])
def test_what_is_not_whole_says_so_on_page_one(language: str, word: str, stopped: bool) -> None:
    """Above what is broken, for the customer; and again above the verdict, for the technician."""
    bench = factories.port_and_battery()
    last = msgspec.structs.replace(bench.runs[-1], finished=False, stopped=stopped)
    html = render(*speaking(bench._replace(runs=(*bench.runs[:-1], last)), language))
    assert html.index(word) < html.index('id="customer"')
    assert html.index("INCOMPLETE: ", html.index('id="customer"')) < html.index('id="verdict"')


def test_nothing_of_a_language_stays_behind() -> None:
    """The console goes on in English after a report was written."""
    render(*speaking(factories.port_and_battery(), "de"))
    assert wording.text("sign.date") == "Date"


# --- shop.toml.


def test_the_shops_file_chooses_the_language(tmp_path: Path) -> None:
    (tmp_path / "shop.toml").write_text('[shop]\nname = "A"\ncustomer_language = "es"\n', "utf-8")
    tables, trouble = shop_tables(tmp_path)
    assert trouble is None
    bench = factories.port_and_battery()
    html = render(*bench._replace(knowledge=tables))
    assert customers_part.languages(customers_part.part(html)) == {"es"}


@pytest.mark.parametrize("word", ["fr", "de_DE", "../../etc/passwd", ""])
def test_a_language_that_is_not_there_is_told(word: str, tmp_path: Path) -> None:
    """With what there is; the rest of the file counts, and the page is English."""
    (tmp_path / "shop.toml").write_text(
        f'[shop]\nname = "A"\ncustomer_language = "{word}"\n', "utf-8"
    )
    tables, trouble = shop_tables(tmp_path)
    assert trouble is not None and tables.shop.name == "A"
    assert "customer_language" in trouble and "de" in trouble and "es" in trouble
    html = render(*factories.port_and_battery()._replace(knowledge=tables))
    assert customers_part.languages(customers_part.part(html)) == {"en"}
