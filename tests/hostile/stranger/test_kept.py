"""The shop drive as other systems, hands and power cuts leave it, and settings with a slip.

Sources: mount(8), vfat, shortname= (names in capitals); POSIX.1-2017, NAME_MAX (bytes, not signs)
and XBD 4.13 (one file by many names); UAX 9 and 11, UTS 39 (signs that turn, of double width, that
look alike); RFC 3339, 5.6 and 5.8; ext4(5), delalloc (a file of its length and no content);
RFC 8259, 6; TOML 1.0.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Final

import msgspec
import pytest
from rich.cells import cell_len

from livecheck.casefile import CaseFolder, Shop
from livecheck.console import drawings
from livecheck.console.glyphs import FULL
from livecheck.meters import Gauge
from tests.case_index.drives import shop_at
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, command
from tests.hostile.newcomer.test_drive import answers, listed, put, raw


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return drives.drive(tmp_path / "drive")


def _run(root: str, ticket: str, *more: str) -> tuple[int, str, str]:
    return command("run", "--from", str(CAPTURE), "--probes", "power", "--shop", root,
                   f"--ticket={ticket}", *more)  # fmt: skip


def test_names_in_capitals(shop: Shop, tmp_path: Path) -> None:
    """S01: where the file system tells capitals apart and the one that copied did not."""
    case = drives.first(shop).path
    for path in sorted(case.rglob("*"), reverse=True):
        path.rename(path.with_name(path.name.upper()))
    status, out, err = command("cases", "--shop", str(shop.root), "--rebuild")
    assert status == 0, err
    assert case.name in out + err
    for words in (("locate", str(case)), ("report", str(case))):
        status, out, err = command(*words)
        assert status == 0 or case.name in err, err
    assert "T-1" in listed(shop)


LONG: Final = ("\u00fc" * 200, "\U0001f527" * 120, "\U0001f1e9\U0001f1ea" * 60, "e\u0301" * 150,
               "\U0001f468\u200d\U0001f527" * 50)  # fmt: skip


@pytest.mark.parametrize("ticket", LONG, ids=["umlauts", "pictures", "flags", "marks", "joined"])
def test_tickets_of_few_signs_and_many_bytes(ticket: str, tmp_path: Path,
                                             monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """S02: one case, found again by what was typed."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = shop_at(tmp_path / "drive")
    for _ in range(2):
        status, _, err = _run(str(shop.root), ticket)
        assert status == 0, err
    (entry,) = shop.entries()
    assert CaseFolder(Path(entry.path)).run_numbers() == (1, 2)
    status, out, err = command("cases", "--shop", str(shop.root), "--json", f"--ticket={ticket}")
    assert status == 0, err
    assert [one["ticket"] for one in json.loads(out)] == [ticket]


@pytest.mark.parametrize(
    "sign", ["\u200b", "\u200d", "\u2060", "\u202e", "\u2066", "\ufe0f", "\u00ad"]
)
def test_tickets_that_look_the_same(sign: str, tmp_path: Path,
                                    monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """S03: one case, or two that are told apart in the listing."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = shop_at(tmp_path / "drive")
    for ticket in ("A-17", f"A-{sign}17"):
        status, _, err = _run(str(shop.root), ticket)
        assert status == 0, err
    status, out, err = command("cases", "--shop", str(shop.root))
    assert status == 0, err
    lines = [line for line in out.splitlines() if "A-" in line]
    assert len(lines) == len(shop.entries())
    shown = ["".join(c for c in line.partition(",")[2] if c != sign) for line in lines]
    assert len(set(shown)) == len(lines)


TIMES: Final = (
    "2016-12-31T23:59:60Z",
    "2026-03-02T09:00:00-00:00",
    "2026-03-02t09:00:00z",
    "2026-03-02T09:00:00.123456789012Z",
    "2026-03-02T09:00:00+23:59",
    "0000-01-01T00:00:00Z",
    "9999-12-31T23:59:59-23:59",
    "2026-03-02 09:00:00Z",
)


@pytest.mark.parametrize("when", TIMES)
def test_times_that_few_write(when: str, shop: Shop, tmp_path: Path) -> None:
    """S04: RFC 3339 allows them, so every command answers, and the case is listed."""
    case = drives.first(shop)
    put(case.case_file, raw(case.case_file) | {"opened": when})
    put(case.run_file(1), raw(case.run_file(1)) | {"started": when})
    outcome = case.path / "outcomes/0001/outcome.json"
    put(outcome, raw(outcome) | {"recorded": when})
    answers(shop, tmp_path)
    told = listed(shop, "--rebuild")
    assert set(told) >= {"T-0", "T-1"}
    for day in ("2016-12-31", "2026-03-02", "9999-12-31"):
        assert command("cases", "--shop", str(shop.root), "--since", day)[0] == 0
    assert command("report", str(case.path))[0] == 0


@pytest.mark.parametrize("where", ["case.json", "runs/0001/run.json", "outcomes/0001/outcome.json"])
@pytest.mark.parametrize("kept", [0.0, 0.5])
def test_a_record_of_nul(where: str, kept: float, shop: Shop, tmp_path: Path) -> None:
    """S05: the length was written and the content was not."""
    file = drives.place(shop, where)
    data = file.read_bytes()
    whole = int(len(data) * kept)
    file.write_bytes(data[:whole] + bytes(len(data) - whole))
    said = answers(shop, tmp_path)
    case = str(drives.first(shop).path)
    told = [out + err for words, (_, out, err) in said.items() if case in words or "cases" in words]
    assert any(file.name in words for words in told)
    assert "T-1" in listed(shop, "--rebuild")
    assert file.read_bytes()[whole:] == bytes(len(data) - whole)


@pytest.mark.parametrize("number", ["1.0", "1e0", "true", '"1"', "1.5", "-1", "null", "1e30"])
def test_a_number_of_a_run_written_otherwise(number: str, shop: Shop, tmp_path: Path) -> None:
    """S06: read as 1, or the file is named; the case beside it stands."""
    case = drives.first(shop)
    text = json.dumps(raw(case.run_file(1)))
    assert '"number": 1,' in text
    case.run_file(1).write_text(text.replace('"number": 1,', f'"number": {number},'))
    answers(shop, tmp_path)
    status, out, err = command("locate", str(case.path), "--json")
    assert (status == 0 and json.loads(out)["runs"] == 1) or "run.json" in err or "runs/0001" in err
    assert "T-1" in listed(shop, "--rebuild")


def test_one_drive_by_five_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """S07: one case and five runs."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    (tmp_path / "a").mkdir()
    shop = shop_at(tmp_path / "a/drive")
    (tmp_path / "way").symlink_to(tmp_path / "a")
    monkeypatch.chdir(tmp_path)
    names = (str(shop.root), f"{shop.root}/", f"{tmp_path}/./a/../a//drive", "a/drive",
             str(tmp_path / "way/drive"))  # fmt: skip
    for name in names:
        status, _, err = _run(name, "T-5")
        assert status == 0, (name, err)
    (entry,) = shop.entries()
    assert CaseFolder(Path(entry.path)).run_numbers() == (1, 2, 3, 4, 5)
    for name in names:
        assert set(listed(Shop(Path(name)))) == {"T-5"}


def test_a_run_of_another_laptop_copied_in(shop: Shop, tmp_path: Path) -> None:
    """S08: seal and all; nothing of this laptop is ordered by it."""
    other = shop_at(tmp_path / "other")
    status, _, err = command("run", "--from", str(CAPTURE), "--probes", "passive", "--ticket", "A",
                             "--shop", str(other.root))  # fmt: skip
    assert status == 0, err
    (entry,) = other.entries()
    case = drives.first(shop)
    before = json.loads(command("locate", str(case.path), "--json")[1])
    record = raw(Path(entry.path) / "runs/0001/run.json")
    shutil.copytree(Path(entry.path) / "runs/0001", case.path / "runs/0002")
    after = json.loads(command("locate", str(case.path), "--json")[1])
    assert after["unit"] == before["unit"]
    strangers = {p["id"] for p in record["inventory"]["parts"]}
    assert after["component"] not in strangers


WIDE: Final = (
    "\u65e5\u672c\u8a9e\u306e\u540d\u524d",
    "\U0001f1e9\U0001f1ea\U0001f527",
    "a\u0301\u0301b\u0308",
    "\uff21\uff22\uff23",
    "\u200b\u2060x",
    "plain",
)


@pytest.mark.parametrize("name", WIDE)
def test_columns_and_signs_of_double_width(name: str) -> None:
    """R01: what stands in columns begins at one cell."""
    plain = Gauge(channel=0, name="n", text="t", share=0.5, limit=0.9, state="ordinary")
    gauge = msgspec.structs.replace(plain, name=name * 8, text=name)
    lines = [drawings.meter(one, 80) for one in (gauge, plain)]
    begins = {cell_len(line[: line.index(FULL)]) for line in lines}
    assert len(begins) == 1
    assert all(cell_len(line) <= 80 for line in lines)


@pytest.mark.parametrize("name", WIDE)
def test_lines_and_signs_of_double_width(name: str, shop: Shop) -> None:
    """R01: no line is wider than it may be, and none is blank."""
    case = drives.first(shop)
    record = raw(case.run_file(1))
    for rows in ("parts", "places", "controllers"):
        for row in record["inventory"][rows]:
            row["name"] = f"{name} {row['name']} {name}"
    put(case.run_file(1), record)
    status, out, err = command("tree", str(case.path))
    assert status == 0, err
    assert all(line.strip()[:1] for line in out.splitlines() if line)
    status, out, err = command("locate", str(case.path))
    assert status == 0, err
    wrapped = [line for line in out.splitlines() if "--reseated" not in line and "%  " not in line]
    assert [line for line in wrapped if cell_len(line) > 79] == []


SLIPS: Final = {
    "unit": ('[shop.prices]\ndrvie = 79.0\n', "drvie", "drive"),
    "spare": ('[shop]\nspares = ["batery"]\n', "batery", "battery"),
    "step": ('[shop]\nnever = ["re-flash firmwear"]\n', "firmwear", "re-flash firmware"),
    "way": ('[shop]\nnever = ["workarround"]\n', "workarround", "workaround"),
    "setting": ('[shop]\ncurency = "EUR"\n', "curency", "currency"),
    "table": ('[shp]\nname = "x"\n', "shp", "shop"),
}  # fmt: skip


@pytest.mark.parametrize("slip", SLIPS)
def test_a_letter_wrong_in_the_shops_file(slip: str, shop: Shop) -> None:
    """T01: named, with what it could mean; silence would be a price that is never used."""
    words, wrong, meant = SLIPS[slip]
    (shop.root / "shop.toml").write_text(words)
    status, _, err = command("report", str(drives.first(shop).path))
    assert wrong in err
    assert f"did you mean {meant}?" in err
    assert status in (0, 3)


MIXED: Final = ("hour = true", "worth = false", 'hour = "60"', "name = 5", "currency = true",
                'second_machine = "no"', "second_machine = 0", 'spares = "drive"', "spares = [1]",
                "never = true", "address = ['a']", "hour = 2026-03-02")  # fmt: skip


@pytest.mark.parametrize("line", MIXED)
def test_a_value_of_another_sort(line: str, shop: Shop) -> None:
    """T02: named with its setting, not taken for 1 and 0."""
    (shop.root / "shop.toml").write_text(f"[shop]\n{line}\n")
    case = str(drives.first(shop).path)
    for words in (("report", case), ("cases", "--shop", str(shop.root)), ("parts", case)):
        status, _, err = command(*words)
        assert status in (0, 3)
        assert line.partition(" ")[0] in err, words
        assert "shop.toml" in err


@pytest.mark.parametrize("left", ["nothing", "runs", "a file", "a run", "a case's other record"])
def test_a_case_that_was_cut_off_before_its_record(
    left: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """S14: what is empty is nobody's; what is not is somebody's."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    shop = shop_at(tmp_path / "drive")
    folder = shop.cases_folder / "2026-03-02-T-7"
    folder.mkdir(parents=True)
    if left in ("runs", "a run"):
        (folder / "runs").mkdir()
    if left == "a run":
        (folder / "runs/0001").mkdir()
    if left in ("a file", "a case's other record"):
        (folder / ("photo.jpg" if left == "a file" else "summary.json")).write_text("x")
    stood = sorted(folder.rglob("*"))
    for _ in range(2):
        status, _, err = _run(str(shop.root), "T-7")
        assert status == 0, err
    cases = [entry for entry in shop.entries() if entry.case is not None]
    assert len(cases) == 1
    assert CaseFolder(Path(cases[0].path)).run_numbers() == (1, 2)
    if left in ("nothing", "runs"):
        assert len(shop.entries()) == 1
    else:
        assert sorted(folder.rglob("*")) == stood
