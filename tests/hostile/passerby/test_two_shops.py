"""The shop drive as two shops, two hands and two systems leave it.

Sources: what file managers do with a folder of one name (they merge it), common practice, no
source; UAX 15 (NFD); tmpfs(5), nr_inodes; TOML 1.0 (comments, line ends); README of the project for
shop.toml.
"""

from __future__ import annotations

import gzip
import json
import os
import shutil
import subprocess
import tempfile
import time
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import pytest

from livecheck.case_index.summary import summarize
from livecheck.casefile import CaseFolder, Shop
from livecheck.records import Side
from tests import factories
from tests.bench_stories import odd_beds
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, MAIN, REPO, command
from tests.hostile.newcomer.test_drive import listed, put, raw
from tests.hostile.small_drive import mounted
from tests.testbeds import stories
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents

TOLD: Final = ("another board", "another machine", "another laptop", "other laptop", "is damaged",
               "two machines", "run 2", "number", "more than once", "twice", "of case")  # fmt: skip


@pytest.fixture(autouse=True)
def _own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return drives.drive(tmp_path / "drive")


def _file(bed: Callable[[], Bed], folder: Path) -> Path:
    file = folder / f"{bed.__name__}.capture.gz"
    if not file.exists():
        file.write_bytes(gzip.compress(contents(bed()), 1, mtime=0))
    return file


def _taken(root: Path, bed: Callable[[], Bed], ticket: str, *more: str) -> CaseFolder:
    """A run of this laptop under a ticket."""
    root.mkdir(exist_ok=True)
    status, out, err = command("run", "--complaint", "slow", "--from", str(_file(bed, root.parent)),
                               "--shop", str(root), "--ticket", ticket, *more)  # fmt: skip
    assert status == 0, out + err
    entries = [e for e in Shop(root).entries() if e.case is not None and e.case.ticket == ticket]
    return CaseFolder(Path(entries[0].path))


def _said(case: CaseFolder) -> tuple[dict[str, Any], str]:
    """The verdict, and all that is told of the case."""
    status, out, err = command("locate", str(case.path), "--json")
    told = out + err
    found = json.loads(out) if status == 0 else {"unit": None, "side": None, "probability": 0.0}
    told += "".join("".join(command(word, str(case.path))[1:]) for word in ("locate", "report"))
    page = case.report_file.read_text("utf-8") if case.report_file.exists() else ""
    return found, (told + page).lower()


def _swap(one: Path, other: Path) -> None:
    aside = one.with_name("aside")
    one.rename(aside)
    other.rename(one)
    aside.rename(other)


@pytest.mark.parametrize("what", ["case.json", "runs/0001/run.json", "runs"])
def test_records_exchanged_between_two_cases(what: str, tmp_path: Path) -> None:
    """S01, S03: both seals are right, and neither belongs here."""
    root = tmp_path / "drive"
    one = _taken(root, stories.drive_1, "A-1")
    other = _taken(root, odd_beds.sound, "B-1")
    third = _taken(root, stories.port_1, "C-1")
    _swap(one.path / what, other.path / what)
    for case in (one, other):
        found, told = _said(case)
        assert found["unit"] is None or any(words in told for words in TOLD), (case.path, told)
    assert _said(third)[0]["side"]
    assert set(listed(Shop(root), "--rebuild"))


@pytest.mark.parametrize("times", [1, 3])
def test_a_run_copied_beside_itself(times: int, tmp_path: Path) -> None:
    """S02: a copy is no second look."""
    case = _taken(tmp_path / "drive", stories.port_1, "A-1")
    before, _ = _said(case)
    for number in range(times):
        shutil.copytree(case.path / "runs/0001", case.path / f"runs/{number + 2:04d}")
    after, told = _said(case)
    assert after["probability"] <= before["probability"] + 0.02 or any(w in told for w in TOLD)
    chances = {c["component"]: c["probability"] for c in before["candidates"]}
    risen = {c["component"]: (chances.get(c["component"], 0.0), c["probability"])
             for c in after.get("candidates", ())
             if c["probability"] > chances.get(c["component"], 0.0) + 0.05}  # fmt: skip
    assert not risen or any(w in told for w in TOLD), risen
    listed(Shop(tmp_path / "drive"), "--rebuild")


@pytest.mark.parametrize("first", ["theirs over ours", "ours kept"])
def test_two_shops_in_one_folder(first: str, tmp_path: Path) -> None:
    """S04: one id in both; a file manager makes one folder of two."""
    ours, theirs = tmp_path / "ours", tmp_path / "theirs"
    mine = _taken(ours, stories.drive_1, "1")
    beside = _taken(ours, stories.port_1, "2")
    other = _taken(theirs, odd_beds.sound, "1")
    _taken(theirs, odd_beds.sound, "1")
    if other.path.name != mine.path.name:
        other.path.rename(other.path.with_name(mine.path.name))
        other = CaseFolder(other.path.with_name(mine.path.name))
    for file in sorted(path for path in other.path.rglob("*") if path.is_file()):
        to = mine.path / file.relative_to(other.path)
        to.parent.mkdir(parents=True, exist_ok=True)
        if first == "theirs over ours" or not to.exists():
            shutil.copy2(file, to)
    found, told = _said(mine)
    if first == "ours kept":
        assert any(words in told for words in TOLD), told[:2000]
    strange = mine.load().runs
    assert {run.inventory.machine.board_serial for run in strange} or found["unit"] is None
    assert _said(beside)[0]["side"]
    assert "2" in listed(Shop(ours), "--rebuild")


def test_a_summary_that_says_otherwise(tmp_path: Path) -> None:
    """S05: what is judged is judged from the records."""
    case = _taken(tmp_path / "drive", stories.drive_1, "A-1")
    before, _ = _said(case)
    loaded = case.load()
    sound = factories.location(case=loaded.case.id, side=Side.NO_FAULT, unit=None, component=None)
    well = summarize(sound, loaded.runs, (1,))
    case.save_summary(well)
    after, _ = _said(case)
    assert (after["unit"], after["side"]) == (before["unit"], before["side"])
    status, out, err = command("parts", str(case.path))
    assert status == 0, err
    page = case.report_file.read_text("utf-8").lower()
    assert "drive" in page
    status, out, err = command("hand-over", str(case.path), "--no-guided", "--from",
                               str(_file(stories.drive_1, tmp_path)))  # fmt: skip
    assert status == 1, out + err


def _settings(shop: Shop, content: bytes) -> tuple[float, str, str]:
    """Seconds, the verdict before and after, and what was said, with these settings."""
    case = str(drives.first(shop).path)
    (shop.root / "shop.toml").write_bytes(content)
    begun = time.process_time()
    status, out, err = command("locate", case, "--json", "--shop", str(shop.root))
    took = time.process_time() - begun
    assert status in (0, 3), err
    return took, out, err


def test_a_hundred_wrong_keys(shop: Shop) -> None:
    """S06: a file of another program's, or of another year's."""
    case = str(drives.first(shop).path)
    before = json.loads(command("locate", case, "--json")[1])
    rows = "".join(f"currencie{n} = 'EUR'\n[shop.prices{n}]\ndrive = 1\n" for n in range(100))
    begun = time.process_time()
    (shop.root / "shop.toml").write_text(f"[shop]\n{rows}")
    for words in (("report", case), ("parts", case), ("cases", "--shop", str(shop.root))):
        status, _, err = command(*words)
        assert status in (0, 3)
        assert "shop.toml" in err
        assert len(err) < 20_000
    assert time.process_time() - begun < 15
    status, out, err = command("locate", case, "--json")
    after = json.loads(out)
    assert (after["unit"], after["component"]) == (before["unit"], before["component"])
    # What a shop learned is used where its settings say so, and they cannot be read.
    assert after["candidates"] == before["candidates"] or "learned is left out" in err


COMMENTS: Final = {
    "mark": b'\xef\xbb\xbf[shop]\r\ncurrency = "EUR"\r\n',
    "many": b"[shop]\n" + b"# x\n" * 100_000 + b'currency = "EUR"\n' + b"# y\n" * 100_000,
    "long": b"# " + b"x" * (20 << 20) + b'\n[shop]\ncurrency = "EUR"\n',
    "quotes": b"# '''\n" * 200_000 + b'[shop]\ncurrency = "EUR"\n',
    "blanks": b" \t" * (1 << 20) + b'\n[shop]\ncurrency = "EUR"\n',
    "open text": b"[shop]\ncurrency = '''" + b"x\n" * 500_000,
    "nested": b"[shop]\nspares = " + b"[" * 3000 + b"]" * 3000 + b"\n",
    "dotted": b"[shop]\n" + b".".join([b"a"] * 20_000) + b" = 1\n",
}


@pytest.mark.parametrize("what", COMMENTS)
def test_settings_of_many_comments(what: str, shop: Shop) -> None:
    """S07: used or named, and soon."""
    case = str(drives.first(shop).path)
    (shop.root / "shop.toml").write_bytes(COMMENTS[what])
    for words in (("report", case), ("cases", "--shop", str(shop.root))):
        begun = time.process_time()
        status, _, err = command(*words)
        assert time.process_time() - begun < 5, words
        assert status in (0, 3)
        assert len(err) < 4000
        if what in ("mark", "many"):
            assert status == 0 and "shop.toml" not in err
        else:
            assert status == 0 or "shop.toml" in err


class _At:
    """A capture whose clock tells another day."""

    def __init__(self, bed: Callable[[], Bed], day: str, folder: Path) -> None:
        rows = contents(bed())
        self.file = folder / f"{bed.__name__}-{day}.capture.gz"
        text = rows.replace(b"2026-03-02T09:00:00+00:00", f"{day}T09:00:00+00:00".encode())
        assert text != rows or day == "2026-03-02"
        self.file.write_bytes(gzip.compress(text, 1, mtime=0))


@pytest.mark.parametrize("day", ["1970-01-01", "2040-12-31"])
def test_a_hand_over_of_another_year(day: str, tmp_path: Path) -> None:
    """S08: the machine's clock was lost between the runs, or was lost before them."""
    root = tmp_path / "drive"
    root.mkdir()
    first = str(_At(stories.drive_1, "2026-03-02", tmp_path).file)
    last = str(_At(stories.drive_1, day, tmp_path).file)
    at = ("--shop", str(root), "--ticket", "A-1")
    for file in (first, last):
        status, _, err = command("run", "--complaint", "slow", "--from", file, *at)
        assert status == 0, err
    before = json.loads(command("locate", *_named(root))[1])
    status, out, err = command("hand-over", *at, "--no-guided", "--from", last)
    assert status == 1, out + err
    (entry,) = Shop(root).entries()
    case = CaseFolder(Path(entry.path))
    assert case.load().damaged == ()
    assert [run.number for run in case.load().runs] == [1, 2, 3]
    assert json.loads(command("locate", *_named(root))[1])["unit"] == before["unit"]
    assert command("report", str(case.path))[0] == 0
    page = case.report_file.read_text("utf-8")
    assert day in page and "2026-03-02" in page
    assert "-0" not in page.partition("<body")[2].partition("hours")[0][:0]


def _named(root: Path) -> tuple[str, str]:
    (entry,) = Shop(root).entries()
    return str(entry.path), "--json"


@pytest.mark.parametrize("inodes", [2, 4, 6, 8, 10, 12, 14])
def test_a_drive_without_an_inode_left(inodes: int, tmp_path: Path) -> None:
    """S09: there is room and no file can be made."""
    root = tmp_path / "drive"
    with mounted(root, f"size=16m,nr_inodes={inodes}"):
        words = ("run", "--from", str(CAPTURE), "--probes", "power", "--ticket", "T", "--shop",
                 str(root))  # fmt: skip
        for _ in range(3):
            status, out, err = command(*words)
            assert status in (0, 3), err
            kept = list(tmp_path.glob("livecheck-run*"))
            assert status == 0 or kept or "done (" not in out + err, err
            assert status == 0 or "livecheck: " in err
        for entry in Shop(root).entries():
            if entry.case is not None:
                damaged = CaseFolder(Path(entry.path)).load().damaged
                assert all("nothing was saved" in words for words in damaged)


def _both(*commands: list[str]) -> list[tuple[int, str]]:
    """Commands started at once; status and messages of each."""
    env = {**os.environ, "PYTHONPATH": str(REPO)}
    begun = [subprocess.Popen([*MAIN, *words], env=env, stdin=subprocess.DEVNULL,
                              stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
             for words in commands]  # fmt: skip
    ended = []
    for process in begun:
        _, err = process.communicate(timeout=100)
        ended.append((process.returncode, err.decode("utf-8", "replace")))
    assert all("Traceback" not in err for _, err in ended), ended
    return ended


def test_one_kept_run_saved_twice_at_once(tmp_path: Path) -> None:
    """S10: by two benches, or by two clicks."""
    elsewhere = _taken(tmp_path / "elsewhere", stories.port_1, "A-1")
    root = tmp_path / "drive"
    root.mkdir()
    file = tmp_path / "kept.json"
    put(file, raw(elsewhere.run_file(1)) | {"number": 0})
    words = ["save", str(file), "--shop", str(root), "--ticket", "A-1"]
    told = _both(words, words, words)
    assert {status for status, _ in told} <= {0, 3}, told
    (entry,) = Shop(root).entries()
    case = CaseFolder(Path(entry.path))
    assert (len(case.load().runs), case.load().damaged) == (1, ())


def test_folders_in_decomposed_letters(tmp_path: Path) -> None:
    """S11: the drive went through a system that writes names otherwise."""
    root = tmp_path / "drive"
    for _ in range(2):
        case = _taken(root, stories.port_1, "Müller-Ölß Ångström")
    name = unicodedata.normalize("NFD", case.path.name)
    moved = case.path.with_name(name)
    if moved != case.path:
        case.path.rename(moved)
    for ticket in ("Müller-Ölß Ångström", unicodedata.normalize("NFD", "Müller-Ölß Ångström")):
        status, _, err = command("run", "--complaint", "slow", "--from",
                                 str(_file(stories.port_1, tmp_path)), "--shop", str(root),
                                 "--ticket", ticket)  # fmt: skip
        assert status == 0, err
    entries = [entry for entry in Shop(root).entries() if entry.case is not None]
    assert len(entries) == 1
    assert CaseFolder(Path(entries[0].path)).run_numbers() == (1, 2, 3, 4)


def test_two_benches_record_what_was_proved(tmp_path: Path) -> None:
    """S12: at the same moment, one yes and one no."""
    root = tmp_path / "drive"
    case = _taken(root, stories.drive_1, "A-1")
    unit = json.loads(command("locate", *_named(root))[1])["candidates"][0]["kind"]
    said = ["outcome", str(case.path), "--unit", unit, "--shop", str(root), "--proved"]
    told = _both([*said, "yes"], [*said, "no"], ["note", str(case.path), "x", "--shop", str(root)])
    assert {status for status, _ in told} <= {0, 2, 3}, told
    assert case.load().damaged == ()
    assert "A-1" in listed(Shop(root), "--rebuild")
    assert command("report", str(case.path))[0] == 0
    proved = [raw(file) for file in case.path.glob("outcomes/*/outcome.json")]
    assert proved
    learned = command("learn", "--shop", str(root), "--json")
    assert learned[0] == 0 or "are needed" in learned[2], learned
