"""Commands in the wrong order, on the wrong thing, and at once.

Sources: what a hand does at a bench (common practice, no source); POSIX rename(2).
"""

from __future__ import annotations

import json
import os
import subprocess
import unicodedata
from pathlib import Path
from typing import Any, Final

import pytest

from livecheck import demo
from livecheck.casefile import CaseFolder, Shop
from tests.hostile import drives
from tests.hostile.drives import MAIN, REPO, command

pytestmark = pytest.mark.usefixtures("own_cache")

DEMO: Final = Path(demo.__file__).parent
DRIVE_1, CARD, PORT = (str(DEMO / f"{name}.capture.gz")
                          for name in ("drive-1", "contact-1", "port-1"))  # fmt: skip
QUICK: Final = ("--probes", "storage,wireless,power")
ON_A_CASE: Final = (
    ("locate",), ("report",), ("parts",), ("tree",), ("note", "+", "a word"),
    ("outcome", "+", "--unit", "drive", "--proved", "yes"),
    ("outcome", "+", "--not-mended", "--note", "x"), ("take-out", "+", "1", "--why", "x"),
    ("rescue", "+", "--to", "sdz"), ("hand-over", "+", "--no-guided", "--from", DRIVE_1),
)  # fmt: skip


def _run(root: Path, *more: str, source: str = DRIVE_1, ticket: str = "4711") -> tuple[int, str]:
    status, out, err = command("run", "--from", source, "--complaint", "slow", "--shop", str(root),
                               "--ticket", ticket, *QUICK, *more)  # fmt: skip
    return status, out + err


def _case(root: Path, ticket: str = "4711") -> CaseFolder:
    entries = [e for e in Shop(root).entries() if e.case is not None and e.case.ticket == ticket]
    (entry,) = entries
    return CaseFolder(Path(entry.path))


def _found(case: CaseFolder) -> dict[str, Any]:
    status, out, err = command("locate", str(case.path), "--json")
    assert status == 0, err
    found: dict[str, Any] = json.loads(out)
    return found


def _words(words: tuple[str, ...], case: str) -> list[str]:
    return [words[0], case, *words[2:]]


def _shop(tmp_path: Path) -> Path:
    root = tmp_path / "drive"
    root.mkdir()
    return root


@pytest.mark.parametrize("words", ON_A_CASE, ids=lambda w: " ".join(w[:3])[:20])
def test_a_shop_where_nothing_is(words: tuple[str, ...], tmp_path: Path) -> None:
    """A01: there is no case yet, and none is made by asking for it."""
    root = _shop(tmp_path)
    for name in ("4711", "2026-03-02-4711", str(root), str(root / "livecheck-cases"), "."):
        status, _, err = command(*_words(words, name), "--shop", str(root))
        assert status in (2, 3), err
        assert err.strip()
    assert [path for path in root.rglob("*") if path.is_file()] == []


@pytest.mark.parametrize("words", ON_A_CASE, ids=lambda w: " ".join(w[:3])[:20])
def test_a_case_of_no_run(words: tuple[str, ...], tmp_path: Path) -> None:
    """A01: the ticket was opened, and the machine was never looked at."""
    root = _shop(tmp_path)
    assert _run(root)[0] == 0
    case = _case(root)
    for file in sorted((case.path / "runs").rglob("*"), reverse=True):
        file.unlink() if file.is_file() else file.rmdir()
    status, out, err = command(*_words(words, str(case.path)))
    assert status in (0, 1, 2, 3)
    assert status == 0 or err.strip() or out.strip()
    assert words[0] != "hand-over" or status != 0
    assert words[0] == "hand-over" or "at fault, " not in out
    assert case.load().case.ticket == "4711"


@pytest.mark.parametrize("words", [*ON_A_CASE, ("run",), ("read-log",)],
                         ids=lambda w: " ".join(w[:3])[:20])  # fmt: skip
def test_a_closed_case(words: tuple[str, ...], tmp_path: Path) -> None:
    """A01: it is closed, and what it was closed with stands."""
    root = _shop(tmp_path)
    assert _run(root)[0] == 0
    case = _case(root)
    assert command("outcome", str(case.path), "--not-mended", "--note", "too dear")[0] == 0
    before = json.loads((case.path / "case.json").read_bytes())
    runs = case.run_numbers()
    if words[0] == "run":
        status, told = _run(root, "--case", str(case.path))
        assert status in (2, 3) and "closed" in told
    elif words[0] == "read-log":
        log = tmp_path / "log"
        log.write_text("[ 12.5] ata1.00: error: { UNC }\n")
        told = ""
        status, out, err = command("read-log", str(log), "--case", str(case.path))
        assert status in (2, 3) and "closed" in out + err
    else:
        status, out, err = command(*_words(words, str(case.path)))
        assert status in (0, 1, 2, 3)
        told = out + err
    after = json.loads((case.path / "case.json").read_bytes())
    assert after["closed"] == before["closed"]
    # It may be corrected, and whoever does is told what stood there.
    assert after["outcome"] == before["outcome"] or before["outcome"] in told
    assert case.run_numbers() == runs or words[0] == "hand-over"


STRANGE: Final = (
    ("--reseated", "slot:nosuch"), ("--reseated", "drive"), ("--known-good", "serial:NOSUCH"),
    ("--known-good", "OSN512K7731"), ("--answer", "drive:NOSUCH=new part"),
    ("--answer", "slot:nosuch=cleaned"), ("--answer", "nothing"), ("--answer", "=new"),
    ("--answer", "drive:OSN512K7731="), ("--answer", "last start=on a Tuesday"),
)  # fmt: skip


@pytest.mark.parametrize("words", STRANGE, ids=" ".join)
def test_ids_that_nothing_has(words: tuple[str, str], tmp_path: Path) -> None:
    """A02: refused, or said; nobody is cleared or accused by it."""
    root, plain = _shop(tmp_path), tmp_path / "plain"
    plain.mkdir()
    assert _run(plain)[0] == 0
    status, told = _run(root, *words)
    assert status in (0, 2, 3), told
    name = words[1].partition("=")[0].partition(":")[2] or words[1].partition("=")[0] or words[1]
    assert name in told, told
    if status == 0:
        own, usual = _found(_case(root)), _found(_case(plain))
        assert own["unit"] == usual["unit"]
        chances = {c["component"]: c["probability"] for c in usual["candidates"]}
        for one in own["candidates"]:
            assert one["probability"] == pytest.approx(chances.get(one["component"], 0.0), abs=0.02)


BOTH: Final = (
    ("note", "+", "--cannot", "no spare: drive", "--can", "no spare: drive"),
    ("outcome", "+", "--unit", "drive", "--proved", "yes", "--not-mended"),
    ("outcome", "+", "--proved", "yes"),
    ("outcome", "+", "--unit", "drive"),
    ("outcome", "+",),
    ("note", "+",),
    ("hand-over", "+", "--ticket", "9999", "--no-guided", "--from", DRIVE_1),
)  # fmt: skip


@pytest.mark.parametrize("words", BOTH, ids=lambda w: " ".join(w[2:])[:30] or w[0])
def test_words_that_contradict(words: tuple[str, ...], tmp_path: Path) -> None:
    """A02: one of the two is meant, and nobody guesses which."""
    root = _shop(tmp_path)
    assert _run(root)[0] == 0
    case = _case(root)
    before = (case.path / "case.json").read_bytes()
    status, out, err = command(*_words(words, str(case.path)))
    assert status == 2, out + err
    assert err.strip()
    assert (case.path / "case.json").read_bytes() == before
    assert not list(case.path.glob("outcomes/*/outcome.json"))


@pytest.mark.parametrize("run", ["0", "-1", "99", "1.0", "0001", " 1", "one", "1,2", "١"])
def test_runs_that_are_taken_out(run: str, tmp_path: Path) -> None:
    """A03: by whatever number."""
    root = _shop(tmp_path)
    assert _run(root)[0] == 0
    case = _case(root)
    before = _found(case)
    status, out, err = command("take-out", str(case.path), run, "--why", "x")
    assert status in (0, 2, 3), out + err
    now = _found(case)
    assert now["unit"] == (before["unit"] if status else None)
    assert status or now["runs"] == 0
    if status == 0:
        assert command("take-out", str(case.path), "1", "--why", "x")[0] in (0, 2, 3)
        for _ in range(2):
            assert command("take-out", str(case.path), "1", "--put-back")[0] in (0, 2, 3)
    after = _found(case)
    assert (after["unit"], after["probability"]) == (before["unit"], before["probability"])


@pytest.mark.parametrize("source", [CARD, PORT])
def test_another_laptop_is_handed_over(source: str, tmp_path: Path) -> None:
    """A04: the customer's parts are not in it, whatever is typed."""
    root = _shop(tmp_path)
    assert _run(root)[0] == 0
    for _ in range(2):
        status, out, err = command("hand-over", "--ticket", "4711", "--shop", str(root),
                                   "--no-guided", "--same-machine", "--from", source)  # fmt: skip
        assert status in (1, 2, 3), out + err
        assert "signed off: all" not in (out + err).lower()
    assert _case(root).load().damaged == ()


def _begun(*words: str) -> subprocess.Popen[bytes]:
    env = {**os.environ, "PYTHONPATH": str(REPO)}
    return subprocess.Popen([*MAIN, *words], env=env, stdin=subprocess.DEVNULL,
                            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)  # fmt: skip


def _ended(started: list[subprocess.Popen[bytes]]) -> list[tuple[int, str]]:
    told = []
    for process in started:
        _, err = process.communicate(timeout=100)
        told.append((process.returncode, err.decode("utf-8", "replace")))
    assert all("Traceback" not in err for _, err in told), told
    return told


@pytest.mark.slow
def test_one_ticket_typed_in_four_ways_at_once(tmp_path: Path) -> None:
    """A05: into a shop where nothing is yet."""
    root = _shop(tmp_path)
    started = [
        _begun(
            "run", "--from", DRIVE_1, "--probes", "power", "--shop", str(root), "--ticket", ticket
        )
        for ticket in ("ab-7", "AB-7", " ab-7 ", "Ab-7")
    ]
    told = _ended(started)
    assert {status for status, _ in told} == {0}, told
    entries = [e for e in Shop(root).entries() if e.case is not None]
    assert len(entries) == 1, [e.path for e in entries]
    case = CaseFolder(Path(entries[0].path))
    assert (case.run_numbers(), case.load().damaged) == ((1, 2, 3, 4), ())


@pytest.mark.slow
def test_a_hand_over_while_a_run_goes_on(tmp_path: Path) -> None:
    """A05: two shells, one case."""
    root = _shop(tmp_path)
    assert _run(root)[0] == 0
    case = _case(root)
    at = ("--shop", str(root))
    started = [
        _begun("run", "--from", DRIVE_1, "--ticket", "4711", *at),
        _begun("hand-over", str(case.path), "--no-guided", "--from", DRIVE_1),
        _begun("note", str(case.path), "rang twice", "--told", "since=weeks"),
        _begun("take-out", str(case.path), "1", "--why", "another laptop"),
    ]
    told = _ended(started)
    assert {status for status, _ in told} <= {0, 1}, told
    loaded = case.load()
    assert (case.run_numbers(), loaded.damaged) == ((1, 2, 3), ())
    assert {line.about for line in loaded.case.told} == {"note", "since"}


NAMES: Final = (
    "2026-03-02-Müller",
    "2026-03-02-4712",
    "2026-03-02-4711 done",
    "CASE",
    "case.json",
    unicodedata.normalize("NFD", "Größe"),
    "2026-03-02-4711-2",
    "-rf",
    "4712",
)


@pytest.mark.parametrize("name", NAMES)
def test_a_folder_renamed_between_two_runs(name: str, tmp_path: Path) -> None:
    """A07: the record says whose it is, not the folder."""
    root = _shop(tmp_path)
    assert _run(root)[0] == 0
    own = _case(root).path
    own.rename(own.with_name(name))
    status, told = _run(root)
    assert status == 0, told
    assert _case(root).path.name == name
    assert _case(root).run_numbers() == (1, 2)
    # Another laptop under the ticket that the folder's name looks like.
    status, told = _run(root, source=CARD, ticket="4712")
    assert status == 0, told
    assert _case(root).run_numbers() == (1, 2)
    assert _case(root, "4712").run_numbers() == (1,)
    status, out, err = command("locate", "4711", "--json", "--shop", str(root))
    assert status == 0, err
    assert json.loads(out)["runs"] == 2
    status, out, err = command("locate", "4712", "--json", "--shop", str(root))
    assert (status == 0 and json.loads(out)["runs"] == 1) or (status in (2, 3) and err.strip())
    status, out, err = command("cases", "--shop", str(root), "--rebuild")
    assert status == 0 and "4711" in out and "4712" in out, out + err
    assert drives.command("report", str(root / "livecheck-cases" / name))[0] == 0
