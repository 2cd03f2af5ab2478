"""The index: it finds what a plain look through the records finds, and it is never the truth."""

from __future__ import annotations

import csv
import json
import os
import shutil
import sqlite3
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck.case_index import shop as case_index
from livecheck.case_index.export import COLUMNS, csv_text, entry
from livecheck.case_index.index import Index
from livecheck.case_index.page import index_page
from livecheck.case_index.query import Query, conditions
from livecheck.case_index.words import board_line, hit_line
from livecheck.casefile import CaseFolder, Loaded, Shop
from livecheck.records import Location, Side
from tests import factories
from tests.case_index.drives import add_case, nobody, shop_at
from tests.report.pages import Page


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """Six cases of one board, two of another."""
    made = shop_at(tmp_path / "drive")
    for number in range(4):
        add_case(made, number, day=f"2026-03-0{number + 1}")
    add_case(made, 4, side=Side.CONTROLLER, kind="sata-port", day="2026-03-05")
    add_case(made, 5, side=Side.UNDETERMINED, day="2026-03-06")
    add_case(made, 6, product="QX-2", kind="drive", day="2026-04-01")
    add_case(made, 7, product="QX-2", side=Side.NO_FAULT, day="2026-04-02", proved="battery")
    return made


def judged(loaded: Loaded) -> Location:
    """A judge without an opinion."""
    return msgspec.structs.replace(factories.location(), case=loaded.case.id)


def found(shop: Shop, query: Query) -> list[str]:
    with case_index.caught_up(shop, nobody) as index:
        assert index is not None
        return [hit.ticket or "" for hit in index.find(query)]


@pytest.mark.parametrize(
    ("query", "tickets"),
    [
        (Query(ticket="t-6"), ["T-6"]),
        (Query(serial="btw-0003"), ["T-3"]),
        (Query(board="qx"), ["T-7", "T-6"]),
        (Query(unit="sata-port"), ["T-4"]),
        (Query(unit="battery"), ["T-7"]),
        (Query(verdict="undetermined"), ["T-5"]),
        (Query(since="2026-03-06"), ["T-7", "T-6", "T-5"]),
        (Query(until="2026-03-02"), ["T-1", "T-0"]),
        (Query(since="2026-03-02", until="2026-03-03"), ["T-2", "T-1"]),
        (Query(text="WANDER btw-0002"), ["T-2"]),
        (Query(text="tarnel qx-2"), ["T-7", "T-6"]),
        (Query(text="%"), []),
        (Query(text="btw_0002"), []),
        (Query(most=2), ["T-7", "T-6"]),
    ],
    ids=str,
)
def test_finding(shop: Shop, query: Query, tickets: list[str]) -> None:
    assert found(shop, query) == tickets


def test_what_failed_before_in_a_board(shop: Shop) -> None:
    """Counted by hand: six cases of the first board, four of them the wireless card."""
    knowledge = factories.port_and_battery().knowledge
    with case_index.caught_up(shop, nobody) as index:
        assert index is not None
        first, second = index.boards(Query())
        assert (first.board, first.cases) == ("Talnau TN14-MB", 6)
        assert first.faults[:2] == (("wireless-card", 4, 0), ("sata-port", 1, 0))
        assert board_line(first, knowledge).startswith("4 of 6 cases of this board: wireless card")
        # What a repair proved counts, whatever the verdict was.
        assert {fault[0]: fault[1:] for fault in second.faults} == {
            "drive": (1, 0),
            "battery": (1, 1),
        }
        assert index.boards(Query(board="QX"))[0] == second


def test_only_what_changed_is_read_again(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("livecheck.case_index.index.FRESH_SECONDS", -1)
    with case_index.caught_up(shop, nobody):
        pass
    with case_index.caught_up(shop, nobody) as index:
        assert index is not None
        change = index.catch_up()
        assert change is not None
        assert change.read == 0
    add_case(shop, 9)
    shutil.rmtree(next(shop.cases_folder.glob("*T-3")))
    with case_index.caught_up(shop, nobody) as index:
        assert index is not None
        assert [hit.ticket for hit in index.find(Query(text="wander"))].count("T-9") == 1
    assert found(shop, Query(ticket="T-3")) == []


def test_a_change_in_the_same_moment_is_not_missed(shop: Shop) -> None:
    """FAT keeps times in steps of two seconds: the folder looks unchanged, and is read again."""
    assert found(shop, Query(unit="keyboard")) == []
    folder = max(shop.cases_folder.iterdir())
    before = folder.stat()
    summary = json.loads((folder / "summary.json").read_text())
    del summary["checksum"]
    (folder / "summary.json").write_text(json.dumps(summary | {"kind": "keyboard"}))
    assert folder.stat().st_mtime_ns == before.st_mtime_ns
    assert found(shop, Query(unit="keyboard")) == ["T-7"]


def test_a_run_since_the_last_verdict_is_judged(shop: Shop) -> None:
    """A summary that does not cover all runs says nothing; the records do."""
    folder = next(shop.cases_folder.glob("*T-2"))
    shutil.copytree(folder / "runs" / "0001", folder / "runs" / "0002")
    asked = []

    def judge(loaded: Loaded) -> Location:
        asked.append(loaded.case.id)
        return msgspec.structs.replace(factories.location(), case=loaded.case.id)

    with case_index.caught_up(shop, judge) as index:
        assert index is not None
        assert index.find(Query(ticket="T-2"))[0].side == factories.location().side.value
    assert asked == [folder.name]


def test_damage_is_told_and_nothing_else_suffers(shop: Shop) -> None:
    (next(shop.cases_folder.glob("*T-0")) / "case.json").write_bytes(b"{")
    (shop.cases_folder / "stray").mkdir()
    outcome = next(shop.cases_folder.glob("*T-7")) / "outcomes" / "0001" / "outcome.json"
    outcome.write_bytes(outcome.read_bytes()[:20])
    with case_index.caught_up(shop, nobody) as index:
        assert index is not None
        told = "\n".join(index.troubles())
        assert "not a whole case record" in told
        assert "stray: holds no case.json" in told
        assert "outcome 1: outcome.json is not a whole" in told
        assert len(index.find(Query())) == 9


@pytest.mark.parametrize("spoil", [b"", b"not a database at all" * 500])
def test_a_broken_index_is_made_anew(shop: Shop, tmp_path: Path, spoil: bytes,
                                     monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert found(shop, Query(ticket="T-6")) == ["T-6"]
    for file in (tmp_path / "cache" / "livecheck").iterdir():
        file.write_bytes(spoil)
    assert found(shop, Query(ticket="T-6")) == ["T-6"]


def test_without_a_place_to_keep_it(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """No cache folder can be made: the index lives as long as the question."""
    monkeypatch.setenv("XDG_CACHE_HOME", "/dev/null/nowhere")
    assert found(shop, Query(ticket="T-6")) == ["T-6"]


def test_no_database_lies_on_the_drive(shop: Shop, tmp_path: Path,
                                       monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """One that somebody put there is not opened: its rows, triggers and views are nobody's."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    forged = sqlite3.connect(shop.cases_folder / ".case-index.sqlite")
    forged.execute("CREATE TABLE cases (folder TEXT, ticket TEXT)")
    forged.execute("INSERT INTO cases VALUES ('x', 'FORGED')")
    forged.execute("PRAGMA user_version = 2")
    forged.commit()
    forged.close()
    assert "FORGED" not in found(shop, Query())
    assert len(found(shop, Query())) == 8
    (shop.cases_folder / ".case-index.sqlite").unlink()
    assert not list(shop.root.rglob("*.sqlite*"))


def test_damage_found_while_asking_is_mended_there(shop: Shop, tmp_path: Path) -> None:
    """SQLite reads a page when it is asked for, long after the file was opened."""
    file = tmp_path / "i.sqlite"
    index = Index(file, shop.cases_folder, nobody)
    index.catch_up()
    index.close()
    index = Index(file, shop.cases_folder, nobody)
    with file.open("r+b") as raw:
        raw.seek(4096)
        raw.write(b"\xff" * (file.stat().st_size - 4096))
    assert len(index.find(Query())) == 8
    assert index.count(Query()) == 8
    index.close()


def test_a_locked_index_is_not_thrown_away(shop: Shop, tmp_path: Path,
                                           monkeypatch: pytest.MonkeyPatch) -> None:  # fmt: skip
    """Another program of this computer is filling it: it waits, says so, and leaves it."""
    monkeypatch.setattr("livecheck.case_index.index.WAIT_SECONDS", 0.1)
    file = tmp_path / "i.sqlite"
    index = Index(file, shop.cases_folder, nobody)
    index.catch_up()
    other = sqlite3.connect(file, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    before = file.stat().st_ino
    with pytest.raises(sqlite3.OperationalError, match="locked"):
        index.refresh("2026-03-01-T-0")
    with pytest.raises(sqlite3.OperationalError, match="locked"):
        Index(file, shop.cases_folder, nobody).catch_up(thorough=True)
    assert file.stat().st_ino == before
    other.close()
    index.close()


def test_a_folder_that_vanishes_while_listed_takes_no_other_with_it(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The index still holds the seven others afterwards."""
    index = Index(tmp_path / "i.sqlite", shop.cases_folder, nobody)
    index.catch_up()
    gone = next(shop.cases_folder.glob("*T-3"))
    real = os.scandir

    def scandir(where: int) -> AbstractContextManager[Iterator[os.DirEntry[str]]]:
        entries = list(real(where))
        gone.rename(tmp_path / "gone")
        return nullcontext(iter(entries))

    monkeypatch.setattr(os, "scandir", scandir)
    index.catch_up()
    assert index.count(Query()) == 7
    index.close()


def test_a_run_cut_off_before_its_report_is_found(shop: Shop, tmp_path: Path) -> None:
    """Power went after the first save: no summary came, and the case's line tells of the run."""
    index = Index(tmp_path / "i.sqlite", shop.cases_folder, judged)
    for folder in shop.cases_folder.iterdir():
        os.utime(folder, (1_770_000_000, 1_770_000_000))
    index.catch_up()
    index.catch_up()
    case = CaseFolder(next(shop.cases_folder.glob("*T-2")))
    run = msgspec.structs.replace(case.load().runs[0], number=case.claim_run(), finished=False)
    case.save_run(run)
    index.catch_up()
    (hit,) = index.find(Query(ticket="T-2"))
    assert hit.runs == 2
    index.close()


def test_a_time_of_change_no_database_can_hold(shop: Shop, tmp_path: Path) -> None:
    """SQLite's whole numbers end in the year 2262, counted in nanoseconds; FAT's years in 2107."""
    os.utime(next(shop.cases_folder.glob("*T-2")), (2**34, 2**34))
    os.utime(next(shop.cases_folder.glob("*T-4")), (-5, -5))
    assert len(found(shop, Query())) == 8


@pytest.mark.parametrize("evil", ["=1+1", "+1", "-1", "@x", " =1", "\xa0=1", "\u3000＝1", "＠x"])
def test_no_cell_is_a_formula(shop: Shop, evil: str) -> None:
    """OWASP, CSV Injection: the signs, full-width or behind blanks; every column is tried."""
    with case_index.caught_up(shop, nobody) as index:
        assert index is not None
        (hit,) = index.find(Query(most=1))
    columns = [c for c in COLUMNS if isinstance(getattr(hit, c), str)]
    row = msgspec.structs.replace(hit, **dict.fromkeys(columns, evil))
    (read,) = csv.DictReader(csv_text((row,)).splitlines())
    assert len(columns) >= 12
    assert all(read[column].startswith("'") for column in columns)


WORDS = st.text(st.sampled_from("abcAB%_\\'\" -1ßéÉ"), max_size=6)


@settings(max_examples=300, deadline=None)
@given(st.lists(WORDS, min_size=1, max_size=6), WORDS)
def test_words_are_found_as_they_stand(held: list[str], wanted: str) -> None:
    """SQL's own wildcards and quotes are letters like any other; the oracle is Python's ``in``."""
    connection = sqlite3.connect(":memory:")
    connection.execute("CREATE TABLE cases (words TEXT, serials TEXT, boards TEXT, units TEXT)")
    connection.executemany(
        "INSERT INTO cases VALUES (?, '', '', '')", [(h.casefold(),) for h in held]
    )
    where, values = conditions(Query(text=wanted))
    got = [row[0] for row in connection.execute(f"SELECT words FROM cases WHERE {where}", values)]
    asked = wanted.split()
    hoped = [h.casefold() for h in held if all(w.casefold() in h.casefold() for w in asked)]
    assert Counter(got) == Counter(hoped)


def test_export(shop: Shop) -> None:
    """CSV by the standard library's reader; a cell that a spreadsheet would run is defused."""
    with case_index.caught_up(shop, nobody) as index:
        assert index is not None
        hits = index.find(Query())
    evil = msgspec.structs.replace(hits[0], ticket='=HYPERLINK("x")', machine="a;\x1b[31m,b")
    rows = list(csv.DictReader(csv_text((evil, *hits[1:])).splitlines()))
    assert [row["ticket"] for row in rows[1:]] == [hit.ticket for hit in hits[1:]]
    assert rows[0]["ticket"].startswith("'=")
    assert rows[0]["machine"] == "a;[U+001B][31m,b"
    plain = entry(hits[0], shop.cases_folder)
    assert plain["case"].ticket == plain["ticket"] == "T-7"
    assert plain["proved"] == "battery"


def test_lines_and_page(shop: Shop) -> None:
    knowledge = factories.port_and_battery().knowledge
    (shop.cases_folder / "<b>stray").mkdir()
    with case_index.caught_up(shop, nobody) as index:
        assert index is not None
        hits = {hit.ticket: hit for hit in index.find(Query())}
        page = Page(index_page(index, knowledge))
    assert "proved by the repair: battery" in hit_line(hits["T-7"], knowledge)
    assert page.faults == []
    assert "4 of 6 cases of this board: wireless card" in page.text()
    hrefs = page.having("href")
    assert "2026-03-05-T-4/report.html" in hrefs
    assert len(hrefs) == 8
    assert not {tag for tag, _ in page.tags} & {"script", "img", "link", "iframe", "b"}


@pytest.mark.slow
def test_the_index_is_fast_enough_for_typing(tmp_path: Path) -> None:
    """A hundred cases; the figures for 20 000 come from ``tests.benchmarks.case_index``."""
    shop = shop_at(tmp_path)
    for number in range(100):
        add_case(shop, number)
    index = Index(tmp_path / "i.sqlite", shop.cases_folder, nobody)
    index.catch_up()
    began = time.perf_counter()
    index.find(Query(text="wander 0042", most=50))
    assert time.perf_counter() - began < 0.1
    index.close()
