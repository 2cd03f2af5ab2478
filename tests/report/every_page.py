"""Every sort of page the program writes, as files: what the checkers are shown."""

from __future__ import annotations

from pathlib import Path

import msgspec

from livecheck import cli, demo, knowledge, languages
from livecheck.casefile import CaseFolder, Shop
from livecheck.judgement import write_report
from livecheck.records import Outcome, Reading
from livecheck.records.shop import ShopFacts
from livecheck.report import render
from livecheck.report.guide import checks_page, guide_page
from livecheck.report.record_format import record_format_page
from livecheck.worded import worded
from tests import factories, variants

DEAD_ADAPTER = """
[label]
volts = 19.5
amps = 3.33
[answers]
adapter-open-voltage = 0.0
adapter-loaded-voltage = 0.0
"""


def hand_over(*outcomes: Outcome) -> factories.Bench:
    """A hand-over after runs in which one drive came out so."""
    whole = factories.port_and_battery()
    first = whole.runs[0]
    drive = next(p.id for p in first.inventory.parts if p.kind == "drive")
    made = tuple(
        msgspec.structs.replace(
            first,
            number=n,
            readings=(Reading(check="storage.medium-errors", at=drive, outcome=outcome, says="s"),),
            hand_over=n == len(outcomes),
        )
        for n, outcome in enumerate(outcomes, start=1)
    )
    return whole._replace(runs=made)


def write(folder: Path) -> dict[str, Path]:
    """Write all pages below a folder; name and file of each."""
    shop = folder / "shop"
    tables = knowledge.load()
    for _ in demo.play(shop, tables):
        pass
    sheet = folder / "sheet.toml"
    sheet.write_text(DEAD_ADAPTER, "utf-8")
    words = ["run", "--complaint", "no-power", "--readings", str(sheet), "--shop", str(shop)]
    if cli.main(words) != 0:
        raise AssertionError("the worksheet of a dead adapter gave no case")
    index = {}
    for language in (*languages.LANGUAGES[1:], languages.ENGLISH):
        (shop / "shop.toml").write_text(f'[shop]\nlanguage = "{language}"\n', "utf-8")
        cli.main(["cases", "--shop", str(shop)])
        index[f"case-index-{language}"] = next(shop.rglob("index.html")).read_text("utf-8")
    (shop / "shop.toml").unlink()
    pages = {
        ("case-index" if page.stem == "index" else page.parent.name): page
        for page in sorted(shop.rglob("*.html"))
    }
    made = {name: make() for name, make in variants.VARIANTS.items()}
    made["hand-over-ready"] = hand_over(Outcome.FAILED, Outcome.PASSED)
    made["hand-over-refused"] = hand_over(Outcome.FAILED, Outcome.PASSED, Outcome.FAILED)
    for language in languages.LANGUAGES[1:]:
        facts = ShopFacts(name="Werkbank am Markt", customer_language=language)
        own = msgspec.structs.replace(tables, shop=facts)
        for name in ("port-and-battery", "hand-over-ready", "hand-over-refused"):
            made[f"{name}-{language}"] = made[name]._replace(knowledge=own)
    for language in languages.LANGUAGES[1:]:
        facts = ShopFacts(name="Werkbank am Markt", customer_language=language, language=language)
        own = msgspec.structs.replace(tables, shop=facts)
        for entry in Shop(shop).entries():
            page = folder / f"{Path(entry.path).name}-all-{language}.html"
            write_report(CaseFolder(Path(entry.path)), own, page)
            pages[page.stem] = page
    for name, bench in made.items():
        pages[name] = folder / f"{name}.html"
        pages[name].write_text(render(*bench), "utf-8")
    sheets = {
        "guide": guide_page(tables),
        "checks": checks_page(tables),
        "record-format": record_format_page(),
    }
    for language in languages.LANGUAGES[1:]:
        with languages.speaking(language):
            sheets[f"guide-{language}"] = guide_page(worded(tables))
    for name, html in (sheets | index).items():
        pages[name] = folder / f"{name}.html"
        pages[name].write_text(html, "utf-8")
    return pages
