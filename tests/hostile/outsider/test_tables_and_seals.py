"""Tables, the shop's own words, reports without end, ids, seals and what is learned.

Sources: OWASP, CSV Injection; RFC 4180 (quotes in cells); HTML Living Standard, 3.2.6 (an id is
one word, once); ITU-T V.42 (the checksum of a record); signal(7).
"""

from __future__ import annotations

import csv
import html
import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, Final
from urllib.parse import unquote

import msgspec
import pytest

from livecheck.casefile import CaseFolder, Shop
from livecheck.records import Outcome, Proved, encode
from livecheck.records.seal import Seal, seal_of, sealed, unsealed
from tests.case_index.drives import add_case, shop_at
from tests.hostile import drives
from tests.hostile.drives import command
from tests.hostile.outsider.test_words import EVIL, _case, _wrong

pytestmark = pytest.mark.usefixtures("own_cache")


BEGINS: Final = (
    "=cmd|'/c calc'!A0",
    "+1+1",
    "-1+1",
    "@SUM(1)",
    "\t=1",
    "\r=1",
    "\uff1d1+1",
    "\uff0b1",
    '"=1',
    "';=1",
    " =1",
    "\u00a0=1",
    "\u200b=1",
    "\n=1",
    "=1,=2",
    "\ufeff=1",
    "%=1",
    '","=1',
    "\u22121",
    "|=1",
)
FORMULA: Final = re.compile(r"^[\s\u200b\ufeff]*[=+\-@\uff1d\uff0b\uff0d\uff20]")


@pytest.mark.parametrize("begin", BEGINS)
def test_no_cell_is_a_formula(begin: str, tmp_path: Path) -> None:
    """R06: in every text of a case; read back as RFC 4180 and cut at semicolons, too."""
    shop = shop_at(tmp_path / "drive")
    _case(shop, begin)
    table = tmp_path / "cases.csv"
    status, _, err = command("cases", "--shop", str(shop.root), "--csv", str(table))
    assert status == 0, err
    with table.open(newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file))
    assert len(rows) == 2
    for cell in rows[1]:
        assert not FORMULA.match(cell) or re.fullmatch(r"[-+]?[\d.e-]+", cell), repr(cell)
        assert "\x1b" not in cell and "\r" not in cell


SHOP_WORDS: Final = ("name", "address", "currency")


@pytest.mark.parametrize("evil", EVIL)
def test_the_shops_own_words(evil: str, shop: Shop) -> None:
    """R07: on the customer's page, the report, the list and the guide."""
    word = json.dumps(EVIL[evil].replace("\x00", "").replace("\x7f", ""))
    word = re.sub(r"\\ud[89ab]\w\w\\ud[c-f]\w\w", "x", word)
    lines = "".join(f"{name} = {word}\n" for name in SHOP_WORDS)
    (shop.root / "shop.toml").write_text(f"[shop]\n{lines}hour = 60\n", "utf-8")
    case = str(drives.first(shop).path)
    said = [command("report", case), command("cases", "--shop", str(shop.root), "--rebuild")]
    assert {status for status, _, _ in said} <= {0, 2, 3}
    for page in (drives.first(shop).report_file, shop.cases_folder / "index.html"):
        assert list(_wrong(page.read_text("utf-8"))) == [], page.name


@pytest.mark.slow
def test_a_report_of_everything(shop: Shop) -> None:
    """R08: 1,000 parts, each failed thrice; the page stays one that a printer takes."""
    case = drives.first(shop)
    (run,) = case.load().runs
    part = run.inventory.parts[0]
    failed = next(r for r in run.readings if r.outcome is Outcome.FAILED)
    parts = tuple(msgspec.structs.replace(part, id=f"{part.kind}:{n}") for n in range(1000))
    readings = tuple(msgspec.structs.replace(failed, at=one.id) for one in parts for _ in range(3))
    found = msgspec.structs.replace(run.inventory, parts=(*run.inventory.parts, *parts))
    run = msgspec.structs.replace(run, inventory=found, readings=readings)
    case.run_file(run.number).write_bytes(encode(run))
    begun = time.process_time()
    status, _, err = command("report", str(case.path))
    assert status in (0, 3), err
    assert time.process_time() - begun < 60
    assert case.report_file.stat().st_size < 20 << 20


IDS: Final = (
    "a b",
    'q"q',
    "x#y",
    "50%",
    "<i>",
    "a&b",
    "A:1",
    "a:1",
    "\u00e9",
    "..",
    "javascript:x",
)


def test_ids_that_are_no_ids(shop: Shop) -> None:
    """R09: each id of a page stands there once, and each inner link leads to one."""
    case = drives.first(shop)
    (run,) = case.load().runs
    part, failed = run.inventory.parts[0], next(
        r for r in run.readings if r.outcome is Outcome.FAILED)  # fmt: skip
    parts = tuple(msgspec.structs.replace(part, id=f"drive:{one}") for one in IDS)
    readings = tuple(msgspec.structs.replace(failed, at=one.id) for one in parts)
    found = msgspec.structs.replace(run.inventory, parts=(*run.inventory.parts, *parts))
    run = msgspec.structs.replace(run, inventory=found, readings=(*run.readings, *readings))
    case.run_file(run.number).write_bytes(encode(run))
    assert command("report", str(case.path))[0] == 0
    page = case.report_file.read_text("utf-8")
    ids = [html.unescape(one) for one in re.findall(r'\sid="([^"]*)"', page)]
    assert len(ids) == len(set(ids)), [one for one in ids if ids.count(one) > 1]
    assert not [one for one in ids if re.search(r"\s", one) or not one]
    links = {unquote(html.unescape(one)) for one in re.findall(r'href="#([^"]*)"', page)}
    assert links <= {*ids, ""}, links - set(ids)


def _line(data: bytes) -> bytes:
    return data.splitlines(keepends=True)[-2]


def test_seals_that_are_not_its_own(shop: Shop) -> None:
    """K01: another record's, twice, in capitals, in the middle, cut, none."""
    case, other = drives.first(shop), drives.second(shop)
    file = case.run_file(1)
    sound = file.read_bytes()
    own, strange = _line(sound), _line(other.run_file(1).read_bytes())
    assert own != strange
    changed = sound.replace(b'"passed"', b'"failed"', 1)
    odd = {
        "another's": sound.replace(own, strange),
        "twice": sound.replace(own, own[:-1] + b",\n" + own),
        "in capitals": sound.replace(own, own.upper()),
        "cut": sound.replace(own, own[:-4] + b'"\n'),
        "in the middle": own.join(sound.split(b"\n", 1)),
        "changed": changed,
        "of nothing": sound.replace(own, b' "checksum": "crc32:00000000"\n'),
        "no number": sound.replace(own, b' "checksum": "crc32:xyzxyzxy"\n'),
        "another kind": sound.replace(b"crc32:", b"md5:"),
    }
    for what, data in odd.items():
        file.write_bytes(data)
        loaded = case.load()
        assert loaded.damaged or loaded.unchecked, what
        assert seal_of(data) is not Seal.FITS or data == sound, what
        assert command("locate", str(case.path))[0] in (0, 3)
        assert file.read_bytes() == data
    file.write_bytes(unsealed(sound))
    assert case.load().unchecked and not case.load().damaged


CHANGES: Final[dict[str, dict[str, Any]]] = {
    "closed before it was opened": {
        "opened": "2026-03-02T09:00:00Z",
        "closed": "1999-01-01T00:00:00Z",
    },
    "an outcome of nobody": {"outcome": "mended", "closed": "2026-03-02T09:00:00Z"},
    "a run taken out that is none": {
        "taken_out": [{"run": 99, "why": "x", "at": "2026-03-02T09:00:00Z"}]
    },
    "times that are none": {"opened": "yesterday"},
    "another id": {"id": "../../x"},
    "another machine": {"machine": {"vendor": "x"}},
    "no complaint we know": {"complaint": "haunted"},
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_case_that_contradicts_itself(what: str, shop: Shop) -> None:
    """K02: with a right seal; it is judged or named, and never called sound by it."""
    case = drives.first(shop)
    tree = json.loads(unsealed(case.case_file.read_bytes()))
    text = json.dumps({**tree, **CHANGES[what]}, indent=1).encode() + b"\n"
    case.case_file.write_bytes(sealed(text))
    for words in (("locate", str(case.path)), ("report", str(case.path)), ("tree", str(case.path)),
                  ("cases", "--shop", str(shop.root), "--rebuild", "--json"),
                  ("hand-over", str(case.path), "--no-guided", "--same-machine", "--from",
                   str(drives.CAPTURE))):  # fmt: skip
        status, out, err = command(*words)
        assert status in (0, 1, 3), (words, err)
        assert words[0] != "cases" or "T-1" in out
        assert "sound" not in out.lower() or "not" in out.lower()
    assert not (shop.root.parent / "x").exists()


def test_outcomes_that_are_forged(tmp_path: Path) -> None:
    """L01: three hundred of one hand; figures stay figures, and what was left out is said."""
    shop = shop_at(tmp_path / "drive")
    kinds = ("drive", "wormhole", "", "battery", "x" * 999, "\u202e", "mainboard")
    for number in range(60):
        folder = add_case(shop, number)
        for n in range(5):
            folder.add_proved(Proved(
                case=folder.path.name if n else "none", component=kinds[(number + n) % 7],
                recorded=("9999-12-31T23:59:59Z", "x", "0001-01-01T00:00:00Z")[n % 3],
                kind=kinds[n], proved=True, fitted={kinds[n]: 10**9 * n, "drive": -1}))  # fmt: skip
    status, out, err = command("learn", "--shop", str(shop.root), "--json")
    assert status in (0, 1, 3), err
    assert "NaN" not in out and "Infinity" not in out
    used, out, err = command("learn", "--shop", str(shop.root), "--use")
    assert used in (0, 1, 3) and len(out + err) > 20
    status, out, err = command("locate", str(folder.path), "--json")
    assert status == 0, err
    found = json.loads(out)
    for one in found.get("location", found)["candidates"]:
        assert 0 <= one["probability"] <= 1


@pytest.mark.parametrize("word", ["--use", "--undo"])
def test_learning_is_killed_at_any_moment(word: str, shop: Shop) -> None:
    """L02: what is judged by is the old file, the new one, or none, and always whole."""
    case = str(drives.first(shop).path)
    for moment in (0.2, 0.5, 0.8, 1.1, 1.5):
        process = subprocess.Popen(
            [sys.executable, "-P", "-m", "livecheck", "learn", "--shop", str(shop.root), word],
            env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[3])},
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # fmt: skip
        time.sleep(moment)
        process.send_signal(signal.SIGKILL)
        process.wait()
        file = shop.root / "learned.json"
        assert not file.exists() or seal_of(file.read_bytes()) is Seal.FITS
        assert command("locate", case)[0] == 0
    assert CaseFolder(Path(case)).load().damaged == ()
