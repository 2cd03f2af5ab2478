"""Tickets, file systems and records that are not what they seem, on the shop drive.

Sources: Microsoft's "Naming Files, Paths, and Namespaces" (reserved names, trailing dots, from
memory); RFC 8259, 4 (names of an object need not be unique), 6 and 8.1 (numbers, byte order marks);
link(2), rename(2), symlink(7).
"""

from __future__ import annotations

import errno
import json
import os
import re
import shutil
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

from livecheck import guarded
from livecheck.casefile import CaseFolder, Shop
from livecheck.records import encode
from livecheck.records.seal import unsealed
from tests import factories
from tests.case_index.drives import add_case, shop_at
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, command

pytestmark = pytest.mark.usefixtures("own_cache")

RESERVED = re.compile(r"(?i)^(con|prn|aux|nul|com\d|lpt\d)(\..*)?$")
TICKETS = ("CON", "nul.txt", "lpt1", "4711.", "4711 ", "a?b*c", "a:b", "9" * 300, "...", ".", "..",
           "~", "PROGRA~1", "Ä-17", "ﬁ-1", "\u202e7114", "🔧", "日本", "a/b", "a\\b", "$(reboot)",
           "'; drop", "-", "--", "%s%n", "0", "a\u0301", "İ")  # fmt: skip


def _opened(shop: Shop, ticket: str) -> CaseFolder:
    run = factories.port_and_battery().runs[0]
    return shop.open_case(run.inventory, ticket, run.complaint, "2026-03-02T09:00:00Z")


@pytest.mark.parametrize("ticket", TICKETS)
def test_a_ticket_that_a_file_system_reserves(ticket: str, tmp_path: Path) -> None:
    """S01: a folder that each system can hold, and a case that its ticket finds."""
    shop = shop_at(tmp_path / "drive")
    folder = _opened(shop, ticket)
    name = folder.path.name
    assert re.fullmatch(r"[A-Za-z0-9-]{1,60}", name) and not RESERVED.match(name)
    assert folder.path.parent == shop.cases_folder
    run = factories.port_and_battery().runs[0]
    found = shop.find(run.inventory, ticket, run.complaint)
    assert found is not None and found.path == folder.path
    status, out, said = command("cases", "--shop", str(shop.root), f"--find={ticket}", "--json")
    if ticket == "--":
        # argparse of Python 3.11 has no value of that name: it is refused with words.
        assert status == 2 and "--find wants a value" in said
        return
    assert status == 0 and (not ticket.strip(".-~% ") or name in out or not ticket.isalnum())


ALIKE = (("ABC-1", "abc-1"), ("Stra\u00dfe", "STRASSE"), ("caf\u00e9", "cafe\u0301"), ("7 1", "71"))


@pytest.mark.parametrize(("one", "other"), ALIKE)
def test_tickets_that_are_the_same_to_a_hand(one: str, other: str, tmp_path: Path) -> None:
    """S02: one Unicode form or the other is the same word (UAX 15, canonical equivalence)."""
    shop = shop_at(tmp_path / "drive")
    folder = _opened(shop, one)
    run = factories.port_and_battery().runs[0]
    found = shop.find(run.inventory, other, run.complaint)
    assert found is not None and found.path == folder.path


@pytest.mark.parametrize(("one", "other"), [("4711", "4711."), ("\u0430-1", "a-1"), ("1-1", "11"),
                                            ("I-1", "\u0131-1")])  # fmt: skip
def test_tickets_that_are_two(one: str, other: str, tmp_path: Path) -> None:
    """S02: another letter or sign is another ticket, whatever it looks like."""
    shop = shop_at(tmp_path / "drive")
    _opened(shop, one)
    run = factories.port_and_battery().runs[0]
    assert shop.find(run.inventory, other, run.complaint) is None
    assert _opened(shop, other).path.is_dir()


def _run(shop: Shop, *more: str) -> tuple[int, str, str]:
    return command("run", "--from", str(CAPTURE), "--probes", "passive", "--shop",
                   str(shop.root), *more)  # fmt: skip


def test_the_drive_fills_up_during_a_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """S03: after so many bytes each write says ENOSPC, then EROFS, EIO, EDQUOT; the run before
    stands, the words tell, and once there is room again a run is saved."""
    shop = shop_at(tmp_path / "drive")
    monkeypatch.chdir(tmp_path)
    assert _run(shop, "--ticket", "T")[0] == 0
    (entry,) = shop.entries()
    first = CaseFolder(Path(entry.path)).run_file(1)
    before, write = first.read_bytes(), os.write
    for left in (0, 100, 20_000, 200_000):
        for number in (errno.ENOSPC, errno.EROFS, errno.EIO, errno.EDQUOT):
            room = [left]

            def full(fd: int, data: bytes, room: list[int] = room, number: int = number) -> int:
                if not Path(f"/proc/self/fd/{fd}").readlink().is_relative_to(shop.root):
                    return write(fd, data)
                if room[0] <= 0:
                    raise OSError(number, os.strerror(number))
                room[0] -= len(data)
                return write(fd, data[: max(1, room[0] + len(data))])

            with monkeypatch.context() as patched:
                patched.setattr(os, "write", full)
                status, _, err = _run(shop, "--ticket", "T")
            assert status in (0, 3), err
            assert status == 0 or ("livecheck: " in err and len(err.splitlines()[-1]) > 40)
            assert first.read_bytes() == before
            damaged = CaseFolder(Path(entry.path)).load().damaged
            assert all("nothing was saved" in words for words in damaged)
    assert _run(shop, "--ticket", "T")[0] == 0


def test_the_clock_is_set_back_between_two_runs(tmp_path: Path) -> None:
    """S04: numbers keep the order, and no case is opened anew."""
    shop = shop_at(tmp_path / "drive")
    folder = _opened(shop, "T")
    runs = factories.three_runs()
    for run, when in zip(runs, ("2026-03-02", "2016-03-02", "1970-01-01"), strict=False):
        number = folder.claim_run()
        folder.save_run(msgspec.structs.replace(run, number=number, started=f"{when}T00:00:00Z"))
    assert [run.number for run in folder.load().runs] == [1, 2, 3]
    status, out, _ = command("locate", str(folder.path), "--json")
    assert status == 0 and json.loads(out)["runs"] == 3


def test_two_benches_of_one_ticket(tmp_path: Path) -> None:
    """S05: at the same moment, each a program of its own."""
    shop = shop_at(tmp_path / "drive")
    words = [sys.executable, "-m", "livecheck", "run", "--from", str(CAPTURE),
             "--shop", str(shop.root), "--ticket", "T", "--probes"]  # fmt: skip
    benches = [subprocess.Popen([*words, probe], stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
               for probe in ("power", "heat", "usb")]  # fmt: skip
    assert [bench.wait() for bench in benches] == [0, 0, 0]
    (entry,) = shop.entries()
    assert len(CaseFolder(Path(entry.path)).load().runs) == 3
    for bench in benches:
        assert bench.stderr is not None
        bench.stderr.close()


@pytest.mark.parametrize("where", ["runs", ".", "runs/0001"])
def test_a_folder_is_swapped_for_a_link_and_back(where: str, shop: Shop, tmp_path: Path) -> None:
    """S06: in a loop, while commands read and write; nothing outside is touched."""
    outside = tmp_path / "outside"
    shutil.copytree(drives.first(shop).path / where, outside)
    (outside / "secret").write_text("nobody but root may read this")
    before = {p: p.read_bytes() for p in outside.rglob("*") if p.is_file()}
    target, stop = (drives.first(shop).path / where).resolve(), threading.Event()
    aside = tmp_path / "drive" / "aside"

    def swap() -> None:
        while not stop.is_set():
            target.rename(aside)
            target.symlink_to(outside)
            time.sleep(0.0005)
            target.unlink()
            aside.rename(target)
            time.sleep(0.0005)

    thread = threading.Thread(target=swap)
    thread.start()
    try:
        for _ in range(4):
            for words in (("note", "2026-03-02-T-0", "word"), ("locate", "2026-03-02-T-0"),
                          ("report", "2026-03-02-T-0"), ("cases", "--json")):  # fmt: skip
                status, out, err = command(*words, "--shop", str(shop.root))
                assert status in (0, 2, 3)
                assert "nobody but root" not in out + err
    finally:
        stop.set()
        thread.join()
    assert {p: p.read_bytes() for p in outside.rglob("*") if p.is_file()} == before


def test_a_hard_link_to_a_file_outside(shop: Shop, tmp_path: Path) -> None:
    """S07: a save puts a new file in its place; what else is called so keeps its content."""
    case = drives.first(shop).path
    held = {}
    for name in ("case.json", "summary.json", "report.html", ".lock"):
        if not (case / name).exists():
            continue
        outside = tmp_path / f"other-{name}"
        os.link(case / name, outside)
        held[outside] = outside.read_bytes()
    for words in (("note", str(case), "a word"), ("report", str(case)),
                  ("outcome", str(case), "--unit", "no-fault", "--proved", "no")):  # fmt: skip
        assert command(*words)[0] in (0, 2)
    assert {path: path.read_bytes() for path in held} == held


@pytest.mark.parametrize("where", ["case.json", "summary.json", "runs/0001/run.json",
                                   "/shop.toml", "/livecheck-cases/place-names.json"])  # fmt: skip
def test_a_file_of_a_tebibyte(where: str, shop: Shop) -> None:
    """S08: with nothing in it."""
    with drives.place(shop, where).open("wb") as file:
        file.truncate(1 << 40)
    begun = time.process_time()
    status, out, _ = command("cases", "--shop", str(shop.root), "--json", "--rebuild")
    assert status == 0 and "T-1" in out
    assert command("locate", "2026-03-02-T-0", "--shop", str(shop.root))[0] in (0, 3)
    assert time.process_time() - begun < 60


@pytest.mark.slow
def test_folders_without_number(shop: Shop) -> None:
    """S09: thirty thousand that are no cases, and five thousand runs in one."""
    for number in range(30_000):
        (shop.cases_folder / f"stray-{number}").mkdir()
    runs = drives.first(shop).path / "runs"
    for number in range(2, 5_000):
        (runs / f"{number:04}").mkdir()
    begun = time.process_time()
    status, out, _ = command("cases", "--shop", str(shop.root), "--json")
    assert status == 0 and "T-1" in out
    assert command("locate", str(drives.first(shop).path))[0] == 0
    assert time.process_time() - begun < 60


@pytest.mark.parametrize("gone", ["case.json", ".", "runs"])
def test_a_case_vanishes_while_it_is_listed(
    gone: str, shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """S10: another bench takes it away between the listing and the look."""
    listed, case = guarded.folders, drives.first(shop).path

    def then_gone(path: Path) -> list[str]:
        found = listed(path)
        if (case / gone).is_dir():
            shutil.rmtree(case / gone)
        else:
            (case / gone).unlink(missing_ok=True)
        return found

    monkeypatch.setattr(guarded, "folders", then_gone)
    status, out, _ = command("cases", "--shop", str(shop.root), "--json", "--rebuild")
    assert status == 0 and "T-1" in out
    monkeypatch.undo()


NEWER = ("case.json", "summary.json", "runs/0001/run.json", "outcomes/0001/outcome.json")


@pytest.mark.parametrize("where", NEWER)
@pytest.mark.parametrize("schema", [3, 2])
def test_a_record_of_a_newer_version_is_kept(where: str, schema: int, shop: Shop) -> None:
    """S11: of a newer schema, or of this one with fields nobody here knows."""
    file = drives.place(shop, where)
    tree = json.loads(unsealed(file.read_bytes()))
    file.write_text(json.dumps({**tree, "schema": schema, "insurance": {"number": 17}}))
    held, case = file.read_bytes(), str(drives.first(shop).path)
    said = [command(*words) for words in (
        ("cases", "--shop", str(shop.root), "--rebuild"), ("locate", case), ("report", case),
        ("note", case, "a word"), ("note", case, "--told", "since=weeks"),
        ("outcome", case, "--unit", "no-fault", "--proved", "no"), ("tree", case),
        ("learn", "--shop", str(shop.root)),
        ("run", "--from", str(CAPTURE), "--probes", "power", "--case", case, "--same-machine"),
    )]  # fmt: skip
    assert {status for status, _, _ in said} <= {0, 2, 3}
    if where != "summary.json":
        assert b"insurance" in file.read_bytes()
        assert schema == 2 or file.read_bytes() == held
    if schema == 3 and where != "summary.json":
        assert any("schema" in out + err for _, out, err in said)


def _json_attacks(text: str) -> Iterator[tuple[str, bytes]]:
    plain = text.encode()
    yield "byte order mark", b"\xef\xbb\xbf" + plain
    yield "UTF-16", text.encode("utf-16")
    yield "UTF-32", text.encode("utf-32")
    yield "keys twice", plain.replace(b'{"', b'{"schema":1,"schema":2,"', 1)
    yield "another number", re.sub(rb'"number": ?1\b', b'"number":1,"number":2', plain, count=1)
    yield "a number without end", plain.replace(b'"schema":2', b'"schema":' + b"9" * 5000)
    yield "an exponent", plain.replace(b'"schema":2', b'"schema":2e0')
    yield "a huge exponent", plain.replace(b'"seconds":', b'"seconds":1e400,"x":', 1)
    yield "no number", plain.replace(b'"schema":2', b'"schema":NaN')
    yield "half a surrogate", re.sub(rb'"program": ?"[^"]*"', b'"program":"\\\\ud800"', plain)
    yield "half a surrogate in words", plain.replace(b'"Talnau"', b'"\\ud800"', 1)
    yield "a NUL", plain.replace(b'"Talnau"', b'"a\\u0000b"', 1)
    yield "something after", plain + b"{}"
    yield "a comment", b"// x\n" + plain


@pytest.mark.parametrize("where", ["case.json", "runs/0001/run.json"])
def test_json_that_can_be_read_in_two_ways(where: str, shop: Shop) -> None:
    """S12: named, or read as what it says; the case beside it is listed, nothing raises."""
    file = drives.place(shop, where)
    text = unsealed(file.read_bytes()).decode()
    text = json.dumps(json.loads(text), separators=(",", ":"), ensure_ascii=False)
    for what, data in _json_attacks(text):
        file.write_bytes(data)
        for words in (("cases", "--shop", str(shop.root), "--json", "--rebuild"),
                      ("locate", str(drives.first(shop).path)),
                      ("report", str(drives.first(shop).path))):  # fmt: skip
            status, out, err = command(*words)
            assert status in (0, 3), (what, err)
            assert words[0] != "cases" or "T-1" in out
            assert out.isprintable() or not set(out + err) & set("\x00\x1b\x9b"), what
        assert file.read_bytes() == data, what


@pytest.mark.parametrize("what", ["newer", "another", "noise", "a link", "a folder", "locked"])
def test_an_index_that_is_none(what: str, shop: Shop, tmp_path: Path) -> None:
    """S13: the records are the truth; the index in the cache is made anew or done without."""
    listing = ("cases", "--shop", str(shop.root), "--json")
    before = json.loads(command(*listing)[1])
    found = [p for p in (tmp_path / "cache").rglob("*") if p.is_file() and p.suffix != ".lock"]
    index = next(p for p in found if p.read_bytes().startswith(b"SQLite format 3"))
    held = None
    if what == "newer":
        with sqlite3.connect(index) as db:
            db.execute("PRAGMA user_version = 999")
            db.execute("CREATE TABLE insurance (x)")
        db.close()
    elif what == "another":
        index.unlink()
        with sqlite3.connect(index) as db:
            db.execute("CREATE TABLE cases (x)")
        db.close()
    elif what == "noise":
        index.write_bytes(b"SQLite format 3\x00" + os.urandom(5000))
    elif what == "a link":
        index.rename(tmp_path / "elsewhere")
        index.symlink_to("/dev/zero")
    elif what == "a folder":
        index.unlink()
        index.mkdir()
    else:
        held = sqlite3.connect(index, isolation_level=None)
        held.execute("BEGIN EXCLUSIVE")
    begun = time.monotonic()
    status, out, err = command(*listing)
    if held is not None:
        held.close()
    assert time.monotonic() - begun < 40
    assert status == 0, err
    assert [case["ticket"] for case in json.loads(out)] == [case["ticket"] for case in before]
    assert encode(add_case(shop, 7).load().case)
