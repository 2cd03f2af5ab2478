"""Glued captures, another language half-way, output that nobody reads, a drive that is full.

Sources: RFC 1952, 2.2 (a gzip file is a series of members); BCP 47; signal(7), SIGPIPE; tmpfs(5).
"""

from __future__ import annotations

import gzip
import json
import os
import subprocess
from pathlib import Path
from typing import Any, Final

import pytest

from livecheck import demo
from livecheck.casefile import CaseFolder, Shop
from tests.hostile import drives
from tests.hostile.drives import MAIN, command
from tests.hostile.small_drive import mounted

pytestmark = pytest.mark.usefixtures("own_cache")

DEMO: Final = Path(demo.__file__).parent
ONE, OTHER = (DEMO / f"{name}.capture.gz" for name in ("drive-1", "contact-1"))
QUICK: Final = ("--probes", "storage,wireless,power")


def _case(root: Path) -> CaseFolder:
    (entry,) = [e for e in Shop(root).entries() if e.case is not None]
    return CaseFolder(Path(entry.path))


def _run(root: Path, source: Path = ONE, *more: str) -> tuple[int, str]:
    root.mkdir(exist_ok=True)
    status, out, err = command("run", "--from", str(source), "--complaint", "slow", "--shop",
                               str(root), "--ticket", "4711", *QUICK, *more)  # fmt: skip
    return status, out + err


def _glued(how: str) -> bytes:
    one, other = ONE.read_bytes(), OTHER.read_bytes()
    plain, beside = gzip.decompress(one), gzip.decompress(other)
    return {
        "two": one + other,
        "two in one": gzip.compress(plain + beside),
        "cut and whole": one[: len(one) // 2] + other,
        "whole and cut": one + other[: len(other) // 2],
        "packed twice": gzip.compress(one),
        "noise behind": one + os.urandom(4096),
        "nothing behind": one + bytes(4096),
        "not packed": plain,
        "one twice": one + one,
        "line ends": gzip.compress(plain.replace(b"\n", b"\r\n")),
        "a mark": gzip.compress(b"\xef\xbb\xbf" + plain),
        "list of two": gzip.compress(b"[" + plain + b"," + beside + b"]"),
    }[how]


@pytest.mark.parametrize("how", ["two", "two in one", "cut and whole", "whole and cut",
                                 "packed twice", "noise behind", "nothing behind", "not packed",
                                 "one twice", "line ends", "a mark", "list of two"])  # fmt: skip
def test_captures_that_are_glued(how: str, tmp_path: Path) -> None:
    """A06: one machine, or none."""
    file = tmp_path / "x.capture.gz"
    file.write_bytes(_glued(how))
    root = tmp_path / "drive"
    status, told = _run(root, file)
    assert status in (0, 2, 3), told
    if status:
        assert "livecheck: " in told
        assert not list(root.rglob("run.json"))
        return
    (run,) = _case(root).load().runs
    serials = {part.serial for part in run.inventory.parts if part.serial}
    assert "OSN512K7731" in serials
    assert "OSV480D22QX" not in serials


LANGUAGES: Final = ('"en"', '"de"', '"es"', '"xx"', '""', '["de"]', "1", '"DE"', '"de_DE"')


def _judged(root: Path) -> dict[str, Any]:
    status, out, err = command("locate", str(_case(root).path), "--json")
    assert status == 0, err
    found: dict[str, Any] = json.loads(out)
    return {key: found[key] for key in ("side", "unit", "component", "probability", "candidates",
                                        "next_step", "explanation", "sentence")}  # fmt: skip


@pytest.fixture(scope="module")
def in_english(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Two runs and a hand-over in English."""
    root = tmp_path_factory.mktemp("english") / "drive"
    return _days(root, '"en"')


def _days(root: Path, language: str) -> dict[str, Any]:
    """Run, settings changed, run, changed again, hand-over."""
    assert _run(root)[0] == 0
    first = _judged(root)
    (root / "shop.toml").write_text(f"[shop]\nlanguage = {language}\n")
    status, told = _run(root, ONE, "--answer", "machine=looked inside")
    assert status == 0, told
    second = _judged(root)
    (root / "shop.toml").write_text(f"[shop]\ncustomer_language = {language}\n")
    status, out, err = command("hand-over", "--ticket", "4711", "--shop", str(root), "--no-guided",
                               "--from", str(ONE))  # fmt: skip
    said = [(r.check, r.outcome.value, r.says) for run in _case(root).load().runs
            for r in run.readings]  # fmt: skip
    return {"first": first, "second": second, "status": status, "third": _judged(root),
            "said": said, "told": told + out + err}  # fmt: skip


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_language_changed_half_way(
    language: str, tmp_path: Path, in_english: dict[str, Any]
) -> None:
    """A08: words for somebody; nothing of what is known."""
    found = _days(tmp_path / "drive", language)
    for key in ("first", "second", "third", "status", "said"):
        assert found[key] == in_english[key], key
    if language not in ('"en"', '"de"', '"es"'):
        assert "language" in found["told"]


@pytest.mark.slow
@pytest.mark.parametrize("to", ["/dev/stdout", "/dev/fd/1", "/dev/null", ".", "/dev/full"])
@pytest.mark.parametrize("name", ["cases --csv", "report --to", "parts --to", "capture"])
def test_output_to_what_is_no_file(name: str, to: str, shop: Shop) -> None:
    """A09: its reader goes at once; what is written nowhere is a failure."""
    case = str(drives.first(shop).path)
    words = {"cases --csv": ["cases", "--shop", str(shop.root), "--csv", to],
             "report --to": ["report", case, "--to", to],
             "parts --to": ["parts", case, "--to", to],
             "capture": ["capture", to]}[name]  # fmt: skip
    before = {path: path.read_bytes() for path in shop.root.rglob("case.json")}
    done = subprocess.Popen([*MAIN, *words], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, cwd=case, start_new_session=True)  # fmt: skip
    assert done.stdout is not None and done.stderr is not None
    done.stdout.close()
    err = done.stderr.read().decode("utf-8", "replace")
    status = done.wait(timeout=100)
    assert "Traceback" not in err, err
    if to in (".", "/dev/full"):
        assert status in (1, 2, 3) and err.strip(), (status, err)
    assert status in (0, 1, 2, 3, -13, 141), (status, err)
    assert {path: path.read_bytes() for path in shop.root.rglob("case.json")} == before
    assert drives.first(shop).load().damaged == ()


@pytest.mark.slow
@pytest.mark.parametrize("left", [0, 4096, 8192, 16384])
def test_a_drive_that_is_full(left: int, tmp_path: Path) -> None:
    """A10: what stands there stands, and there is a word for each."""
    root = tmp_path / "drive"
    with mounted(root, "size=2m"):
        assert _run(root)[0] == 0
        case = _case(root)
        known = case.load()
        free = os.statvfs(root).f_bavail * os.statvfs(root).f_frsize
        (root / "filler").write_bytes(bytes(max(free - left, 0)))
        for words in (
            ("note", str(case.path), "rang twice " * 40, "--told", "since=weeks"),
            ("report", str(case.path)),
            ("outcome", str(case.path), "--unit", "drive", "--proved", "yes", "--keep-open"),
            ("take-out", str(case.path), "1", "--why", "x"),
            ("cases", "--shop", str(root), "--csv", str(root / "cases.csv")),
        ):  # fmt: skip
            status, out, err = command(*words)
            assert status in (0, 2, 3), out + err
            assert status == 0 or "livecheck: " in err
            loaded = case.load()
            assert loaded.damaged == ()
            assert loaded.case.id == known.case.id
        status, told = _run(root)
        assert status in (0, 3), told
        (root / "filler").unlink()
        assert command("take-out", str(case.path), "1", "--put-back")[0] in (0, 2, 3)
        assert command("note", str(case.path), "again")[0] == 0
        status, told = _run(root)
        assert status == 0, told
        assert all("nothing was saved" in words for words in case.load().damaged)
        assert list(case.path.rglob("*.new")) == []
