"""A case's folder as file managers, other systems, editors and hands leave it.

Sources: what Finder, Explorer and editors leave beside files, common practice, no source;
flock(2); RFC 3339 for what a time is; RFC 8259, 2 for blanks between JSON's words.
"""

from __future__ import annotations

import fcntl
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final

import pytest

from livecheck.casefile import CaseFolder, Shop, lock
from livecheck.records.seal import unsealed
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, command
from tests.report.pages import Page


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return drives.drive(tmp_path / "drive")


def listed(shop: Shop, *words: str) -> dict[str | None, dict[str, Any]]:
    status, out, err = command("cases", "--shop", str(shop.root), "--json", *words)
    assert status == 0, err
    return {entry["ticket"]: entry for entry in json.loads(out)}


def raw(file: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(unsealed(file.read_bytes()))
    found.pop("checksum", None)
    return found


def put(file: Path, record: dict[str, Any]) -> None:
    file.write_text(json.dumps(record))


def answers(shop: Shop, scratch: Path) -> dict[str, tuple[int, str, str]]:
    said = dict(drives.commands(shop, scratch))
    for words, (status, _, err) in said.items():
        assert status in (0, 2, 3), words
        assert "Traceback" not in err
    return said


def located(case: CaseFolder) -> dict[str, Any]:
    status, out, err = command("locate", str(case.path), "--json")
    assert status == 0, err
    found: dict[str, Any] = json.loads(out)
    return found


STRAY: Final = (
    "Thumbs.db",
    "desktop.ini",
    ".DS_Store",
    "._case.json",
    "._run.json",
    "case.json~",
    "run.json.bak",
    "#case.json#",
    "case (conflicted copy 2026-03-04).json",
    "run (1).json",
    "2026-03-02-T-0.zip",
    "Icon\r",
    "System Volume Information.txt",
)


def test_what_file_managers_leave(shop: Shop, tmp_path: Path) -> None:
    """D01: in every folder of the drive."""
    before = located(drives.first(shop))
    tops = [shop.root, *(path for path in shop.root.rglob("*") if path.is_dir())]
    for folder in tops:
        for name in STRAY:
            (folder / name).write_bytes(b"\x00\x05\x16\x07" + name.encode() * 9)
    for name in (".Trashes", ".fseventsd", "System Volume Information", "$RECYCLE.BIN"):
        (shop.cases_folder / name).mkdir()
    found = listed(shop, "--rebuild")
    assert {"T-0", "T-1"} <= set(found)
    assert all(found[ticket].get("trouble") is None for ticket in ("T-0", "T-1"))
    after = located(drives.first(shop))
    assert (after["sentence"], after["probability"]) == (before["sentence"], before["probability"])
    answers(shop, tmp_path)


def test_a_folder_of_old_cases(shop: Shop, tmp_path: Path) -> None:
    """D02: the others are listed, the run of a new machine finds its own."""
    archive = shop.cases_folder / "archive"
    archive.mkdir()
    shutil.copytree(drives.first(shop).path, archive / "2025-01-01-T-9")
    (shop.cases_folder / "New folder").mkdir()
    found = listed(shop, "--rebuild")
    assert {"T-0", "T-1"} <= set(found)
    assert "T-9" not in found
    answers(shop, tmp_path)


TIMES: Final = (
    "yesterday",
    "2026-13-45T99:99:99Z",
    "",
    "2026-03-02",
    "2026-03-02T09:00:00",
    "2026-03-02T09:00:00+14:00",
    "20260302090000000000",
    "02.03.2026 9:00",
    "\u0662",
    "0000-00-00T00:00:00Z",
    "99999-01-01T00:00:00Z",
    "-1",
)


@pytest.mark.parametrize("when", TIMES)
def test_times_that_are_none(when: str, shop: Shop, tmp_path: Path) -> None:
    """D03: of the case, of its run, of what proved it, of a run taken out."""
    case = drives.first(shop)
    outcome = case.path / "outcomes" / "0001" / "outcome.json"
    put(case.case_file, raw(case.case_file) | {"opened": when})
    put(case.run_file(1), raw(case.run_file(1)) | {"started": when})
    put(outcome, raw(outcome) | {"recorded": when})
    said = answers(shop, tmp_path)
    assert {"T-0", "T-1"} <= set(listed(shop, "--rebuild"))
    for span in (("--since", "2020-01-01"), ("--until", "2099-01-01")):
        assert "T-1" in listed(shop, *span)
    assert any(status == 0 for words, (status, _, _) in said.items() if words.startswith("report"))
    assert list(Page(case.report_file.read_text("utf-8")).faults) == []


@pytest.mark.parametrize("closed", ["", "no", "null", "2026"])
def test_closed_by_hand(closed: str, shop: Shop, tmp_path: Path) -> None:
    """D04: what was typed is no time; the case is there all the same."""
    case = drives.first(shop)
    put(case.case_file, raw(case.case_file) | {"closed": closed, "outcome": ""})
    assert "T-0" in listed(shop, "--rebuild")
    table = tmp_path / "cases.csv"
    assert command("cases", "--shop", str(shop.root), "--csv", str(table))[0] == 0
    assert "T-0" in table.read_text("utf-8")
    answers(shop, tmp_path)


def test_an_id_that_is_not_the_folders(shop: Shop, tmp_path: Path) -> None:
    """D05: the second case bears the first one's id; what was named is what is written to."""
    one, other = drives.first(shop), drives.second(shop)
    put(other.case_file, raw(other.case_file) | {"id": one.path.name})
    held = one.case_file.read_bytes()
    assert command("note", str(other.path), "of the second")[0] == 0
    assert command("outcome", str(other.path), "--unit", "no-fault", "--proved", "yes")[0] == 0
    assert one.case_file.read_bytes() == held
    assert "of the second" in other.case_file.read_text("utf-8")
    command("note", other.path.name, "by its name", "--shop", str(shop.root))
    assert "by its name" not in one.case_file.read_text("utf-8")
    renamed = one.path.with_name("a new name")
    one.path.rename(renamed)
    for words in ("note", "report", "locate"):
        more = ["a word"] if words == "note" else []
        status, _, err = command(words, "a new name", *more, "--shop", str(shop.root))
        assert status == 0, (words, err)
    (shop.cases_folder / "a new name").rename(shop.cases_folder / "another")
    other.path.rename(shop.cases_folder / "a third")
    status, _, err = command("locate", other.path.name, "--shop", str(shop.root))
    assert (status, "no case" in err) == (3, True)
    status, _, err = command("locate", one.path.name, "--shop", str(shop.root))
    assert (status, "several cases" in err) == (3, True)


FORMS: Final[dict[str, Callable[[str], str]]] = {
    "as Windows ends lines": lambda text: text.replace("\n", "\r\n"),
    "with tabs": lambda text: text.replace("\n ", "\n\t"),
    "compact": lambda text: json.dumps(json.loads(text), separators=(",", ":")),
    "sorted": lambda text: json.dumps(json.loads(text), sort_keys=True, indent=4),
    "without a last line break": str.rstrip,
    "with blank lines": lambda text: "\n\n" + text.replace("\n", "\n\n"),
}


@pytest.mark.parametrize("form", FORMS)
def test_written_by_an_editor(form: str, shop: Shop, tmp_path: Path) -> None:
    """D06, D07: every record of the case; its checksum line taken away, as the message asks."""
    case = drives.first(shop)
    before = located(case)
    for file in case.path.rglob("*.json"):
        text = json.dumps(raw(file), indent=1) + "\n"
        file.write_bytes(FORMS[form](text).encode())
    after = located(case)
    assert (after["sentence"], after["probability"]) == (before["sentence"], before["probability"])
    assert listed(shop, "--rebuild")["T-0"].get("trouble") is None


def _paths(tree: Any, limit: int = 2) -> Iterator[tuple[str | int, ...]]:
    """Every key of a record, in lists those of their first rows."""
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield (key,)
            yield from ((key, *below) for below in _paths(value, limit))
    elif isinstance(tree, list):
        for turn, value in enumerate(tree[:limit]):
            yield from ((turn, *below) for below in _paths(value, limit))


def _at(tree: Any, way: tuple[str | int, ...]) -> Any:
    for step in way:
        tree = tree[step]
    return tree


def _judged(shop: Shop) -> None:
    status, out, err = command("locate", str(drives.first(shop).path), "--json")
    assert status in (0, 3), err
    if status == 0:
        json.loads(out, parse_constant=lambda word: pytest.fail(word))
    else:
        assert err.startswith("livecheck: ")
    status, _, err = command("report", str(drives.first(shop).path))
    assert status in (0, 3), err


@pytest.mark.slow
def test_a_field_is_missing(shop: Shop) -> None:
    """D08: the run is judged without it, or named."""
    case = drives.first(shop)
    whole = raw(case.run_file(1))
    for way in list(_paths(whole)):
        record = json.loads(json.dumps(whole))
        del _at(record, way[:-1])[way[-1]]
        put(case.run_file(1), record)
        _judged(shop)


@pytest.mark.slow
@pytest.mark.parametrize("sort", [None, [], {}, "word", 10**30, -1, True], ids=str)
def test_a_field_of_another_sort(sort: Any, shop: Shop) -> None:
    """D09: by hand, or by a program that thinks otherwise of a field."""
    case = drives.first(shop)
    whole = raw(case.run_file(1))
    for way in list(_paths(whole, 1)):
        record = json.loads(json.dumps(whole))
        _at(record, way[:-1])[way[-1]] = sort
        put(case.run_file(1), record)
        _judged(shop)
    assert listed(shop, "--rebuild")["T-1"]["sentence"]


def test_anothers_summary(shop: Shop) -> None:
    """D10: a file that was copied into the wrong folder."""
    one, other = drives.first(shop), drives.second(shop)
    for case in (one, other):
        command("report", str(case.path))
    before = listed(shop, "--rebuild")["T-0"]
    told = raw(other.summary_file)
    put(other.summary_file, told | {"sentence": "Of another."})
    shutil.copy(other.summary_file, one.summary_file)
    command("report", str(one.path))
    assert listed(shop, "--rebuild")["T-0"]["sentence"] == before["sentence"]


@pytest.mark.slow
def test_notes_without_end(shop: Shop) -> None:
    """D11: a case that was worked on for years."""
    case = drives.first(shop)
    told = [{"about": "note", "words": f"note {n} of many, with words"} for n in range(10_000)]
    cannot = [f"no spare: kind-{n}" for n in range(2_000)]
    put(case.case_file, raw(case.case_file) | {"told": told, "cannot": cannot})
    begun = time.process_time()
    assert command("report", str(case.path))[0] == 0
    assert command("note", str(case.path), "one more")[0] == 0
    assert time.process_time() - begun < 30


def test_outcomes_against_each_other(shop: Shop, tmp_path: Path) -> None:
    """D12: the newest holds, or none; never both."""
    case = drives.first(shop)
    for unit, proved in (("drive", "yes"), ("drive", "no"), ("no-fault", "yes"), ("moon", "yes")):
        status, _, err = command("outcome", str(case.path), "--unit", unit, "--proved", proved)
        assert status in (0, 2, 3), err
    status, _out, err = command("learn", "--shop", str(shop.root), "--json")
    assert status in (0, 3), err
    answers(shop, tmp_path)


def test_a_lock_that_is_never_let_go(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """D13: a bench that hangs while it holds it."""
    monkeypatch.setattr(lock, "WAIT_SECONDS", 0.5)
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    held = os.open(shop.cases_folder / lock.NAME, os.O_RDWR | os.O_CREAT)
    fcntl.flock(held, fcntl.LOCK_EX)
    words = ("run", "--from", str(CAPTURE), "--probes", "power", "--shop", str(shop.root))
    status, _, err = command(*words, "--ticket", "T-NEW")
    os.close(held)
    assert status != 0
    assert "another bench" in err
    assert "Traceback" not in err


def test_the_runs_folder_vanishes(shop: Shop, tmp_path: Path) -> None:
    """D14: somebody tidies up on the share while a run goes on."""
    words = [
        "run",
        "--from",
        str(CAPTURE),
        "--probes",
        "power,heat,usb,kernel",
        "--shop",
        str(shop.root),
        "--ticket",
        "T-GONE",
    ]
    process = subprocess.Popen(
        [sys.executable, "-m", "livecheck", *words],
        text=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    until = time.monotonic() + 60
    while process.poll() is None and time.monotonic() < until:
        for folder in shop.cases_folder.glob("*T-GONE"):
            if (folder / "runs" / "0001" / "run.json").exists():
                shutil.rmtree(folder, ignore_errors=True)
                until = 0.0
        time.sleep(0.01)
    _, err = process.communicate(timeout=100)
    assert "Traceback" not in err
    kept = list(shop.cases_folder.glob("*T-GONE/runs/*/run.json"))
    named = [Path(word.rstrip(".,;:")) for word in err.split() if "livecheck-run-" in word]
    assert kept or (process.returncode != 0 and any(path.exists() for path in named)), err
    for path in named:
        path.unlink(missing_ok=True)


def test_files_of_another_run(shop: Shop, tmp_path: Path) -> None:
    """D15: beside the record they are only shown."""
    case = drives.first(shop)
    before = located(case)
    folder = case.run_file(1).parent
    (folder / "kernel.log").write_text("[    1.000000] nvme nvme0: I/O 1 QID 1 timeout, aborting\n")
    shutil.copy(case.report_file, folder / "recorder.jsonl")
    (case.report_file).write_text("[    1.0] x")
    after = located(case)
    assert (after["sentence"], after["probability"]) == (before["sentence"], before["probability"])
    answers(shop, tmp_path)
