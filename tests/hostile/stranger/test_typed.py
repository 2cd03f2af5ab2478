"""What is typed by who does not know: files that are none, notes of nothing, runs that are not.

Sources: POSIX.1-2017, XCU 2.9.1.1 and XBD 3.163 (files that are not regular); mknod(2), mkfifo(3);
RFC 4180 (rows and cells of a table); Jinja's and str.format's own signs; UAX 9.
"""

from __future__ import annotations

import csv
import os
import shutil
import stat
from pathlib import Path

import msgspec
import pytest

from livecheck.casefile import Shop
from livecheck.records import encode
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, command
from tests.hostile.newcomer.test_drive import listed, raw
from tests.report.pages import Page


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return drives.drive(tmp_path / "drive")


def _writers(shop: Shop, to: str) -> list[tuple[str, ...]]:
    case = str(drives.first(shop).path)
    return [
        ("report", case, "--to", to),
        ("parts", case, "--to", to),
        ("cases", "--shop", str(shop.root), "--csv", to),
        ("guide", "--to", to),
        ("checks", "--html", to),
    ]


@pytest.mark.parametrize("number", range(5))
@pytest.mark.parametrize("where", ["case.json", "runs/0001/run.json", "summary.json", "/shop.toml"])
def test_a_record_is_no_place_for_a_page(number: int, where: str, shop: Shop) -> None:
    """C01: a line completed by a slip of the finger must not cost the case."""
    file = drives.place(shop, where)
    before = file.read_bytes()
    status, _, err = command(*_writers(shop, str(file))[number])
    assert file.read_bytes() == before
    assert status in (2, 3), err
    assert err.startswith("livecheck: ")


@pytest.mark.parametrize("number", range(6))
def test_nothing_is_written_to_a_device(number: int, shop: Shop, tmp_path: Path) -> None:
    """C02: /dev/sda is the customer's drive. A pipe that somebody reads shows what was written."""
    pipe = tmp_path / "sda"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        written = [*_writers(shop, str(pipe)), ("capture", str(pipe))][number]
        status, _, err = command(*written)
        with_nothing = not os.read(reader, 1)
    finally:
        os.close(reader)
    assert with_nothing
    assert stat.S_ISFIFO(pipe.lstat().st_mode)
    assert status in (2, 3), err


@pytest.mark.parametrize("words", ["   ", "\u200b\u200d", "\u2066\u2069", "\x01\x02", "\n\t"])
def test_a_note_of_nothing(words: str, shop: Shop) -> None:
    """C03: nobody can read it, so nothing is kept."""
    case = drives.first(shop)
    before = raw(case.case_file)
    status, _, err = command("note", str(case.path), words)
    assert raw(case.case_file) == before
    assert status == 2, err


@pytest.mark.parametrize("run", ["0", "-1", "1.0", "9" * 30, "\u0661", "7", "01", "+1", "1_0"])
def test_a_run_that_is_none(run: str, shop: Shop) -> None:
    """C04: only the run that is named is taken out."""
    case = drives.first(shop)
    before = raw(case.case_file)
    status, _, _ = command("take-out", str(case.path), run)
    if status == 0:
        assert int(run) == 1 and run.isascii()
    else:
        assert status in (2, 3)
        assert raw(case.case_file) == before


@pytest.mark.parametrize(
    "stretch", ["10-5", "0-0", "-", "5", "1e3GiB", "0-" + "9" * 99, "1_0-2_0", "\u0661-"]
)
def test_a_stretch_that_is_none(stretch: str, shop: Shop) -> None:
    """C05: nothing is called read that is not there."""
    words = ("run", "--from", str(CAPTURE), f"--range={stretch}", "--shop", str(shop.root),
             "--ticket", "new", "--probes", "passive")  # fmt: skip
    status, out, err = command(*words)
    assert status in (2, 3), out
    assert err.startswith("livecheck: ")
    assert "new" not in listed(shop)


def test_a_drive_that_is_not_there(shop: Shop) -> None:
    """C06: a stretch of sdz cannot be looked at."""
    words = ("run", "--from", str(CAPTURE), "--range", "0-1GiB", "--drive", "sdz", "--shop",
             str(shop.root), "--ticket", "new")  # fmt: skip
    status, out, err = command(*words)
    assert status in (2, 3) or "sdz" in out + err, out
    assert "sdz" in out + err


@pytest.mark.parametrize(
    "words",
    [
        ("--unit", "mainbord", "--proved", "yes"),
        ("--unit", "drive:NOSUCH", "--proved", "yes"),
        ("--proved", "yes", "--not-mended"),
        ("--unit", "", "--proved", "yes"),
    ],
)
def test_an_outcome_that_cannot_be(words: tuple[str, ...], shop: Shop) -> None:
    """C07: what is learned from must have been meant."""
    case = drives.second(shop)
    before = sorted(str(path) for path in case.path.rglob("outcome.json"))
    status, out, _ = command("outcome", str(case.path), *words)
    assert status == 2, out
    assert sorted(str(path) for path in case.path.rglob("outcome.json")) == before


@pytest.mark.parametrize("declined", ["drive:NOSUCH=lasts", "battery", "=words", "mainbord=no"])
def test_declined_what_is_not_there(declined: str, shop: Shop) -> None:
    """C08: the customer cannot have declined what the machine does not have."""
    words = ("hand-over", str(drives.first(shop).path), "--no-guided", "--same-machine", "--from",
             str(CAPTURE), "--declined", declined)  # fmt: skip
    status, out, err = command(*words)
    assert status == 2, out
    assert err.startswith("livecheck: ")


def test_a_kept_run_of_another_laptop(shop: Shop, tmp_path: Path) -> None:
    """C09: two laptops do not come into one case in silence."""
    (tmp_path / "other").mkdir()
    status, _, err = command("run", "--from", str(CAPTURE), "--probes", "passive", "--ticket", "A",
                             "--shop", str(tmp_path / "other"))  # fmt: skip
    assert status == 0, err
    (file,) = (tmp_path / "other").glob("livecheck-cases/*/runs/*/run.json")
    kept = tmp_path / "kept.json"
    shutil.copy(file, kept)
    case = drives.first(shop)
    before = len(case.load().runs)
    for _ in range(2):
        status, out, err = command("save", str(kept), "--shop", str(shop.root), "--ticket", "T-0")
        assert status in (2, 3) or "machine" in out + err, out + err
    assert len(case.load().runs) <= before + 1


def test_one_line_told_twice(shop: Shop) -> None:
    """C10: the last word counts, as everywhere, and it is the one that is kept."""
    case = drives.first(shop)
    status, _, err = command("note", str(case.path), "--told", "since=weeks", "--told",
                             "since=days")  # fmt: skip
    assert status in (0, 2), err
    kept = [line.words for line in case.load().case.told if line.about == "since"]
    assert kept == (["days"] if status == 0 else [])


TEMPLATES = "{{7*7}} {% raw %} {0} {case} %s %(x)d $(x) {#a#} \\1"


def test_words_of_templates(shop: Shop) -> None:
    """R02: on page and in print they stand as they were typed."""
    case = drives.first(shop)
    assert command("note", str(case.path), TEMPLATES, "--told", f"words={TEMPLATES}")[0] == 0
    words = ("run", "--from", str(CAPTURE), "--probes", "passive", "--ticket", TEMPLATES, "--shop",
             str(shop.root))  # fmt: skip
    status, _, err = command(*words)
    assert status == 0, err
    assert TEMPLATES in listed(shop)
    assert command("report", str(case.path))[0] == 0
    page = Page(case.report_file.read_text("utf-8")).text()
    assert " ".join(TEMPLATES.split()) in " ".join(page.split())


ROWS = 'a "b";\r\nc,d\n=1'


def test_a_table_read_back(shop: Shop, tmp_path: Path) -> None:
    """R03: RFC 4180: as many cells in each row."""
    for case in (drives.first(shop), drives.second(shop)):
        status, _, err = command("note", str(case.path), ROWS, "--told", f"words={ROWS}")
        assert status == 0, err
    record = drives.first(shop).load().case
    (drives.first(shop).case_file).write_bytes(encode(msgspec.structs.replace(record, ticket=ROWS)))
    file = tmp_path / "t.csv"
    assert command("cases", "--shop", str(shop.root), "--rebuild", "--csv", str(file))[0] == 0
    with file.open(newline="", encoding="utf-8") as opened:
        rows = list(csv.reader(opened, strict=True))
    assert len(rows) == 3
    assert len({len(row) for row in rows}) == 1


def test_a_stretch_behind_every_drive(shop: Shop) -> None:
    """C05: no drive has 9999 TB."""
    words = ("run", "--from", str(CAPTURE), "--range=9999TB-", "--shop", str(shop.root),
             "--ticket", "new")  # fmt: skip
    status, out, err = command(*words)
    assert status in (2, 3) or "9999" in out + err
