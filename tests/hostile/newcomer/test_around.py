"""Where the program is started, how it is asked, and records of programs that know other kinds.

Sources: POSIX.1-2017, XBD 8 (COLUMNS, LINES, TMPDIR, TERM) and 12.2 (``--``); the XDG base
directory specification (a path that is relative is to be ignored); RFC 3339.
"""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path
from typing import Any, Final

import msgspec
import pytest

from livecheck.casefile import Shop
from livecheck.records import Run
from tests.hostile import drives
from tests.hostile.drives import MAIN, REPO, command
from tests.hostile.newcomer.test_drive import listed, put, raw


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return drives.drive(tmp_path / "drive")


def _done(words: list[str], **env: str | None) -> tuple[int, str, str]:
    given = {
        k: v for k, v in {**os.environ, "PYTHONPATH": str(REPO), **env}.items() if v is not None
    }
    done = subprocess.run(
        [*MAIN, *words],
        timeout=60,
        check=False,
        env=given,
        stdin=subprocess.DEVNULL,
        capture_output=True,
    )
    out, err = done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace")
    assert "Traceback" not in out + err, err
    return done.returncode, out, err


def test_another_order_of_sets(shop: Shop) -> None:
    """G04: a verdict must not hang on how a set is kept."""
    case = str(drives.first(shop).path)
    said = {_done(["locate", case, "--json"], PYTHONHASHSEED=str(seed)) for seed in range(5)}
    assert len(said) == 1


@pytest.mark.parametrize("rows", ["parts", "places", "controllers"])
def test_kinds_nobody_knows(rows: str, shop: Shop, tmp_path: Path) -> None:
    """G16: a program of somebody else's names a kind of its own."""
    case = drives.first(shop)
    record = raw(case.run_file(1))
    for row in record["inventory"][rows]:
        row["kind"] = "phase-coupler"
    for number, row in enumerate(record["inventory"][rows]):
        record["readings"].append(
            {
                "check": ("storage.medium-errors", "battery.wear")[number % 2],
                "at": row["id"],
                "outcome": "failed",
            }
        )
    put(case.run_file(1), record)
    for words in ("locate", "report", "parts", "tree"):
        status, _, err = command(words, str(case.path))
        assert status == 0, (words, err)
    assert listed(shop, "--rebuild")["T-0"].get("trouble") is None


def test_checks_nobody_knows(shop: Shop) -> None:
    """G17: a failed one is told, accuses nobody, and the machine is not called sound."""
    case = drives.first(shop)
    run = msgspec.convert(raw(case.run_file(1)), Run)
    part = run.inventory.parts[0].id
    record = raw(case.run_file(1)) | {
        "readings": [
            {"check": "flux.balance", "at": part, "outcome": "failed", "says": "Off balance."}
        ]
    }
    put(case.run_file(1), record)
    status, out, err = command("locate", str(case.path), "--json")
    assert status == 0, err
    found = json.loads(out)
    assert found["side"] == "undetermined"
    assert command("report", str(case.path))[0] == 0
    assert "Off balance." in case.report_file.read_text("utf-8")


TERMS: Final[tuple[dict[str, str | None], ...]] = (
    {"TERM": "dumb"},
    {"TERM": None},
    {"TERM": ""},
    {"TERM": "wyse-9000\x1b[2J"},
    {"TERM": "x" * 5000},
)


@pytest.mark.parametrize("term", TERMS, ids=range(5))
@pytest.mark.parametrize("words", [[], ["demo"], ["meters"]], ids=str)
def test_no_terminal(words: list[str], term: dict[str, str | None], tmp_path: Path) -> None:
    """C01: input from nowhere, output into a pipe."""
    env = {"HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path / "c"), **term}
    more = ["--seconds", "1"] if words == ["meters"] else []
    status, out, err = _done([*words, *more], **env)
    assert "\x1b" not in out or words != ["meters"]
    assert status in (0, 2, 3)
    assert out or err


@pytest.mark.parametrize("size", ["0", "1", "-5", "wide", "1000000", "", "9" * 400])
def test_sizes_of_no_screen(size: str, shop: Shop) -> None:
    """C02: a terminal that lies about its size."""
    case = str(drives.first(shop).path)
    for words in (
        ["--help"],
        ["cases", "--shop", str(shop.root)],
        ["locate", case],
        ["tree", case],
    ):
        status, out, err = _done(words, COLUMNS=size, LINES=size)
        assert (status, bool(out)) == (0, True), err


CACHES: Final = ("relative", "", "/proc", "/dev/null", "{}/file", "{}/a\nb", "/nowhere/at/all")


@pytest.mark.parametrize("cache", CACHES)
def test_a_cache_that_is_none(cache: str, shop: Shop, tmp_path: Path) -> None:
    """C03: the listing is right, and nothing is left in the folder it was asked from."""
    (tmp_path / "file").write_text("x")
    here = tmp_path / "here"
    here.mkdir()
    env = {"XDG_CACHE_HOME": cache.format(tmp_path), "TMPDIR": "/nowhere/at/all"}
    given = {**os.environ, "PYTHONPATH": str(REPO), **env}
    done = subprocess.run(
        [*MAIN, "cases", "--shop", str(shop.root), "--json"],
        timeout=60,
        cwd=here,
        check=False,
        env=given,
        capture_output=True,
    )
    assert done.returncode == 0, done.stderr
    assert {entry["ticket"] for entry in json.loads(done.stdout)} == {"T-0", "T-1"}
    if cache == "relative":
        assert list(here.iterdir()) == []


def _orders(shop: Shop) -> list[tuple[tuple[str, ...], str | None]]:
    """Words, and the case that they name."""
    case, other, root = "2026-03-02-T-0", "2026-03-02-T-1", str(shop.root)
    return [
        (("locate", "--shop", root, "--json", case), case),
        (("locate", case, f"--shop={root}", "--json"), case),
        (("locate", "--shop", "/nowhere", "--shop", root, "--json", case), case),
        (("locate", "--json", "--shop", root, "--", case), case),
        (("locate", "--json", "--sho", root, case), case),
        (("locate", "--json", "--shop", root, case, other), None),
        (("locate", "--json", "--shop", root, ""), None),
        (("locate", "--json", "--shop", root, " "), None),
        (("locate", "--json", "--shop", root, "--", "--json"), None),
        (("locate", "--json", "--shop", root, "2026-03-02-T-"), None),
        (("locate", "--json", "--shop", root, "2026-03-02-T-0/"), None),
        (("locate", "--json", "--shop", root, "2026-03-02-t-0"), None),
        (("locate", "--json", "--shop", root, "T-0"), None),
        (("locate", "--json", "--shop", "", case), None),
        (("--json", "locate", case), None),
    ]


def test_options_in_odd_orders(shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """C04: an answer for the case that was named, or a refusal."""
    monkeypatch.chdir(tmp_path)
    for words, case in _orders(shop):
        status, out, err = command(*words)
        if case is None:
            assert status in (2, 3) or json.loads(out)["case"] == "2026-03-02-T-0", words
            assert status == 0 or err, words
        else:
            assert (status, json.loads(out)["case"]) == (0, case), (words, err)
    for words in (
        ("note", "2026-03-02-T-0", ""),
        ("note", "", "words"),
        ("take-out", "", "1"),
        ("take-out", "2026-03-02-T-0", ""),
        ("outcome", "", "--unit", "drive"),
        ("cases", "--find", ""),
    ):
        status, _, err = command(*words, "--shop", str(shop.root))
        assert status in (0, 2, 3), (words, err)
    held = {entry.case.id for entry in shop.entries() if entry.case is not None}
    assert held == {"2026-03-02-T-0", "2026-03-02-T-1"}


DAYS: Final = (
    "2026-02-30",
    "0",
    "2026",
    "2026-3-2",
    "\u0662\u0660\u0662\u0666-03-02",
    "9" * 10_000,
    "2026-03-02T09:00:00Z",
    "",
    "-1",
    "yesterday",
    "2026-03-02' OR '1'='1",
)


@pytest.mark.parametrize("day", DAYS)
def test_days_that_are_none(day: str, shop: Shop) -> None:
    """C05: refused with words, or a list."""
    for option in ("--since", "--until"):
        status, out, err = command("cases", "--shop", str(shop.root), f"{option}={day}", "--json")
        assert status in (0, 2), err
        assert status == 0 or err.startswith("livecheck: ")
        if status == 0:
            assert isinstance(json.loads(out), list)
    span = ("--since", "2026-03-05", "--until", "2026-03-01")
    assert json.loads(command("cases", "--shop", str(shop.root), *span, "--json")[1] or "[]") == []


NAMES: Final[dict[str, bytes]] = {
    "GBK": "\u8054\u60f3\u7b14\u8bb0\u672c".encode("gbk"),
    "Shift-JIS": "\u30ce\u30fc\u30c8\u30d1\u30bd\u30b3\u30f3".encode("shift-jis"),
    "Latin-1": "Mus\u00e9e \u00fc".encode("latin-1"),
    "UTF-16": "Wander".encode("utf-16"),
}


@pytest.mark.parametrize("name", NAMES)
def test_names_in_other_letters(name: str, shop: Shop, tmp_path: Path) -> None:
    """P02: bytes of a table as Python passes them on (PEP 383); saved twice, the same machine."""
    word = os.fsdecode(NAMES[name])
    case = drives.first(shop)
    (run,) = case.load().runs
    machine = msgspec.structs.replace(run.inventory.machine, vendor=word, product=word)
    parts = tuple(msgspec.structs.replace(p, model=word, name=word) for p in run.inventory.parts)
    held: Any = msgspec.structs.replace(run.inventory, machine=machine, parts=parts)
    for number in (2, 3):
        case.save_run(msgspec.structs.replace(run, number=case.claim_run(), inventory=held))
        assert case.run_numbers()[-1] == number
    for words in (["locate", str(case.path)], ["report", str(case.path)], ["tree", str(case.path)]):
        status, out, err = command(*words)
        assert status == 0, err
        out.encode("utf-8")
    found = json.loads(command("locate", str(case.path), "--json")[1])
    assert [swap for swap in found["swaps"] if swap["from_run"] == 2] == []
