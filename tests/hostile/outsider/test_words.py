"""Every text of a record and of the intake as somebody who means harm writes it: pages, prints,
speech and codes.

Sources: HTML Living Standard, 13.2 (scripts and addresses a page would load); UAX 9 (signs that
turn a line around); ECMA-48 (control sequences); espeak-ng's user guide ([[phonemes]], SSML and
options); ISO/IEC 18004 (what a symbol can hold).
"""

from __future__ import annotations

import json
import re
import time
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from livecheck.casefile import CaseFolder, Shop
from livecheck.partssheet.qr import qr_lines, qr_svg
from livecheck.records import Case, Run
from livecheck.records.seal import unsealed
from livecheck.voice.speech import command as spoken_by
from livecheck.voice.speech import spoken
from livecheck.wording import clean
from tests.case_index.drives import shop_at
from tests.factories import port_and_battery, three_runs
from tests.hostile.drives import command
from tests.report.pages import Page

EVIL = {
    "markup": "<script>alert(1)</script><img src=x onerror=alert(1)>\"'><svg/onload=x>",
    "an end of a style": "</style></script></title></textarea>--><!--]]>",
    "templates": "{{7*7}}{% raw %}{0.__class__}%s%n${7*7}",
    "turned": "\u202etxet\u202d \u2066a\u2067b\u2068c\u2069 \u200f\u200e\u061c",
    "controls": "\x1b[2J\x1b]0;own\x07\x9b31m\x90x\x9c\x00\x08\x0d\x7f\r\nlivecheck: sound",
    "marks": "Z" + "\u0300\u0301\u0489" * 700,
    "one word": "W" * 100_000,
    "unseen": "\u200b\u2060\ufeff\u00ad\u180e" * 99,
    "addresses": "http://192.0.2.1/x javascript:alert(1) data:text/html,x //host/x",
    "planes": "\U0001f4a9\U000e0041\ufffe\uffff\U0010ffff" * 9,
}
TEXTS = frozenset(
    ("name", "says", "why_not", "model", "vendor", "serial", "firmware", "words", "what", "why",
     "raw", "details", "ticket", "product", "version", "program", "kernel", "description", "source",
     "board_vendor", "board_product", "board_serial", "board_version", "firmware_version",
     "firmware_vendor", "processor", "unit", "form", "label", "printed")
)  # fmt: skip
REFERS = re.compile(r"^(https?:|//|javascript:|data:(?!image/(png|svg)))", re.IGNORECASE)


def worse(tree: Any, evil: str, key: str = "") -> Any:
    """The same record with other words wherever words stand."""
    if isinstance(tree, dict):
        return {k: worse(v, evil, k) for k, v in tree.items()}
    if isinstance(tree, list):
        return [worse(v, evil, key) for v in tree]
    return evil if isinstance(tree, str) and key in TEXTS else tree


def _case(shop: Shop, evil: str) -> CaseFolder:
    """Saved as somebody who can write to the drive would."""
    bench = port_and_battery()
    run = bench.runs[0]
    folder = shop.open_case(run.inventory, "T", run.complaint, "2026-03-02T09:00:00Z")
    case = json.loads(unsealed(folder.case_file.read_bytes()))
    case = worse({**case, "told": [], "outcome": evil}, evil)
    case |= {"opened": "2026-03-02T09:00:00Z"}
    msgspec.convert(case, Case)
    folder.case_file.write_text(json.dumps(case))
    for one in three_runs():
        number = folder.claim_run()
        made = worse(msgspec.to_builtins(one), evil) | {"number": number}
        msgspec.convert(made, Run)
        folder.save_run(one)
        folder.run_file(number).write_text(json.dumps(made))
    return folder


def _steering(words: str) -> set[str]:
    """Signs that steer a terminal or turn a line around."""
    return {c for c in words if unicodedata.category(c) == "Cc" and c not in "\n\t"} | {
        c for c in words if unicodedata.bidirectional(c) in
        ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")
    }  # fmt: skip


def _wrong(html: str) -> Iterator[str]:
    page = Page(html)
    yield from page.faults
    for tag, attributes in page.tags:
        if tag in ("script", "iframe", "object", "embed", "base", "form"):
            yield f"<{tag}>"
        for name, value in attributes.items():
            named = name in ("aria-label", "title", "alt", "content")
            if name.startswith("on") or (not named and REFERS.match(value or "")):
                yield f"{tag} {name}={value}"
    yield from map(repr, _steering(html))


@pytest.mark.parametrize("evil", EVIL)
def test_every_text_on_every_page_and_print(
    evil: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """R01, R02: report, customer's page, index, tree, parts, evidence; terminal and JSON."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = shop_at(tmp_path / "drive")
    folder = _case(shop, EVIL[evil])
    at, case = ("--shop", str(shop.root)), str(folder.path)
    for words in (("report", case), ("locate", case), ("tree", case), ("parts", case),
                  ("parts", case, "--to", str(tmp_path / "parts.html")), ("cases", *at),
                  ("cases", *at, "--boards"), ("locate", case, "--json"),
                  ("cases", *at, "--csv", str(tmp_path / "cases.csv"))):  # fmt: skip
        begun = time.process_time()
        status, out, err = command(*words)
        assert status in (0, 3), (words, err[-500:])
        assert not _steering(out + err), words
        assert time.process_time() - begun < 20, words
    pages = [*tmp_path.rglob("*.html")]
    assert len(pages) >= 2
    for page in pages:
        assert list(_wrong(page.read_text("utf-8"))) == [], page.name


@pytest.mark.parametrize("evil", EVIL)
def test_every_text_of_the_intake(
    evil: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """R03: notes, what the customer told, names of places, what cannot be done."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = shop_at(tmp_path / "drive")
    bench = port_and_battery()
    run = bench.runs[0]
    folder = shop.open_case(run.inventory, "T", run.complaint, "2026-03-02T09:00:00Z")
    number = folder.claim_run()
    folder.save_run(msgspec.structs.replace(run, number=number))
    text = EVIL[evil].replace("\x00", "")
    place = run.inventory.places[0].id
    case = str(folder.path)
    for words in ((case, text), (case, "x", "--call", f"{place}={text}"),
                  (case, "x", "--cannot", text), (case, "x", "--told", f"since={text}"),
                  ):  # fmt: skip
        status, out, err = command("note", *words)
        assert status in (0, 2, 3)
        assert not _steering(out + err), words[1:]
        assert len(err) < 5_000
    for words in (("report", case), ("locate", case), ("parts", case)):
        status, out, err = command(*words)
        assert status in (0, 3) and not _steering(out + err)
    for page in tmp_path.rglob("*.html"):
        assert list(_wrong(page.read_text("utf-8"))) == [], page.name


SPOKEN = (
    *EVIL.values(), "[[h@'loU]]", "<speak><audio src='/etc/passwd'/></speak>", "--version", "-w/x",
    "-f /etc/passwd", "&lt;break time=\"99999s\"/&gt;", "&#x1b;", "1" * 100_000, "a " * 50_000,
    "\u0e01" * 100_000, "!" * 100_000, "((((" * 9999, "1e400 " * 999,
)  # fmt: skip


@pytest.mark.parametrize("number", range(len(SPOKEN)))
def test_every_text_as_speech(number: int) -> None:
    """R04: words and nothing else; one argument, no longer than a sentence is heard out."""
    begun = time.process_time()
    words = spoken(clean(SPOKEN[number]))
    made = spoken_by(words)
    assert time.process_time() - begun < 5
    assert made.index("--") == len(made) - 2 and made[-1] == words
    assert not set(words) & set("[]<>\x1b\x00\n\r") and not _steering(words)
    # execve(2): one argument holds 128 KiB; longer fails, and nothing would be said at all.
    assert len(words.encode()) < 100_000
    assert "&#" not in words and "&lt;" not in words


@pytest.mark.parametrize("evil", [*EVIL.values(), "", "\u65e5\u672c" * 200, "x" * 3000])
def test_a_code_or_none(evil: str) -> None:
    """R05: what does not fit is no code; what fits is drawn without a word of it as markup."""
    for draw in (lambda: qr_svg(evil, evil), lambda: qr_lines(evil, 80, 25)):
        try:
            drawn = draw()
        except ValueError:
            continue
        if isinstance(drawn, str):
            assert list(_wrong(f"<p>{drawn}</p>")) in ([], [repr(c) for c in _steering(drawn)])
            assert "<script" not in drawn
