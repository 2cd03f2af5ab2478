"""Whatever lies on the shop drive: an answer from every command, no other case lost, nothing else
read or written.

Sources: open(2) for what opening a pipe or a device does; symlink(7).
"""

from __future__ import annotations

import json
import os
import signal
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from types import FrameType

import pytest

from livecheck.casefile import Shop
from livecheck.recorder import openings
from livecheck.records.seal import unsealed
from tests.hostile import drives
from tests.hostile.plant import PLANTS, linked, plant
from tests.recorder.machines import MACHINE, NEXT

SECONDS = 60
"""For all commands; on an idle machine they take two."""
SECRET = "nobody but root may read this"
SAMPLE = [
    (kind, where)
    for number, where in enumerate(drives.PLACES)
    for kind in sorted(PLANTS)[number % 4 :: 4]
]
NAMES = (b"\xb2", b"\xd9\xa3", b"9" * 200, b"\xff\xfe", b"0001\n", b"-1", b"1e3", b"...")
FOLDERS = ("runs", "outcomes", "runs/0001", "outcomes/0001", ".", "/livecheck-cases",
           "/livecheck-cases/.recorder", "/livecheck-cases/.recorder/a")  # fmt: skip


@pytest.fixture(autouse=True)
def _no_hang() -> Iterator[None]:
    """A command that waits for ever is a failure of this test, not its end."""

    def late(number: int, frame: FrameType | None) -> None:
        raise TimeoutError(f"no answer in {SECONDS} s")

    signal.signal(signal.SIGALRM, late)
    signal.alarm(SECONDS)
    yield
    signal.alarm(0)


@pytest.fixture
def outside(tmp_path: Path) -> Path:
    """A folder beside the drive, with something in it that no report may show."""
    made = tmp_path / "outside"
    made.mkdir()
    (made / "secret").write_text(SECRET)
    return made


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return drives.drive(tmp_path / "drive")


def _contents(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def _survives(shop: Shop, outside: Path, scratch: Path) -> dict[str, tuple[int, str, str]]:
    before, second = _contents(outside), _contents(drives.second(shop).path)
    said = dict(drives.commands(shop, scratch))
    for words, (status, out, err) in said.items():
        assert status in (0, 2, 3), words
        assert SECRET not in out + err
        assert "Traceback" not in err
    assert _contents(outside) == before
    for name, held in second.items():
        if name.startswith("runs"):
            assert (drives.second(shop).path / name).read_bytes() == held
    openings.find(shop.cases_folder, MACHINE, NEXT)
    return said


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "where"), SAMPLE)
def test_what_is_no_record(
    kind: str, where: str, shop: Shop, outside: Path, tmp_path: Path
) -> None:
    """In the place of each file and folder; the case beside it is listed and judged.

    All pairs: ``python -m tests.hostile``.
    """
    plant(kind, drives.place(shop, where), outside)
    said = _survives(shop, outside, tmp_path)
    listing = next(out for words, (_, out, _) in said.items() if "--rebuild" in words)
    if where != "/livecheck-cases":
        tickets = {entry["ticket"] for entry in json.loads(listing)}
        assert "T-1" in tickets


@pytest.mark.parametrize("where", FOLDERS)
def test_a_folder_that_is_a_link(where: str, shop: Shop, outside: Path, tmp_path: Path) -> None:
    """Nothing is read or written through it, and it is named."""
    linked(drives.place(shop, where), outside)
    _survives(shop, outside, tmp_path)


@pytest.mark.parametrize("where", ["runs", "outcomes", "/livecheck-cases"])
def test_folders_of_strange_names(where: str, shop: Shop, outside: Path, tmp_path: Path) -> None:
    """Digits of other scripts, names that are not UTF-8, numbers without end."""
    for name in NAMES:
        os.mkdir(os.fsencode(drives.place(shop, where)) + b"/" + name)  # noqa: PTH102
    said = _survives(shop, outside, tmp_path)
    listing = next(out for words, (_, out, _) in said.items() if "--rebuild" in words)
    assert {"T-0", "T-1"} <= {entry["ticket"] for entry in json.loads(listing)}


def test_words_without_end_are_refused(shop: Shop) -> None:
    """A question no database takes is the asker's mistake, and nothing is wrong with the disk."""
    status, _, err = drives.command("cases", "--shop", str(shop.root), "--find", "x " * 9000)
    assert (status, "at most 1000 characters" in err) == (2, True)
    assert drives.command("cases", "--shop", str(shop.root), "--find", "x " * 500)[0] == 0


@pytest.mark.parametrize(
    "folder", ["../../outside", "/etc", "a\0b", "..", ".", "", "x/../../..", ".recorder/../..",
               "2026-03-02-T-0/runs/../../.."]
)  # fmt: skip
def test_a_recorders_note_leads_nowhere_else(folder: str, shop: Shop, outside: Path) -> None:
    """Nothing outside the record's own places is read as one, nor moved into a run."""
    spool = shop.cases_folder / openings.FOLDER / "a"
    (outside / "recorder.jsonl").write_bytes((spool / "recorder.jsonl").read_bytes())
    note = openings.note(shop.cases_folder, "a")
    held = json.loads(unsealed(note.read_bytes()))
    note.write_text(json.dumps(held | {"folders": [folder]}))
    assert openings.find(shop.cases_folder, MACHINE, NEXT) == []
    note.write_text(json.dumps(held))
    assert len(openings.find(shop.cases_folder, MACHINE, NEXT)) == 1
    assert (outside / "recorder.jsonl").is_file()


def test_escape_sequences_reach_no_terminal(shop: Shop, outside: Path, tmp_path: Path) -> None:
    """ECMA-48: what begins with ESC or CSI steers a terminal; here it comes in names and keys."""
    evil = "\x1b]0;title\x07\x9b2J"
    (shop.root / "components.toml").write_text('["\\u001b]0;title\\u0007\\u009b2J"]\n')
    (shop.root / "shop.toml").write_text('[priors]\n"\\u001b[2J" = 1\n')
    (shop.cases_folder / f"stray{evil}").mkdir()
    (drives.first(shop).path / "outcomes" / "0002").mkdir()
    for words, (_, out, err) in _survives(shop, outside, tmp_path).items():
        steering = {c for c in out + err if unicodedata.category(c) in ("Cc", "Cf")}
        assert steering <= {"\n", "\r"}, words
