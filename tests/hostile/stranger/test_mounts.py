"""A shop drive that is locked in parts, mounted in parts, doubled, or far away.

Sources: chattr(1) and ioctl_iflags(2) (immutable, append-only); rename(2) and link(2), EXDEV;
mount(8); Microsoft's "Naming Files, Paths, and Namespaces" (names that differ in capitals or by a
trailing dot, from memory); errno(3) and nfs(5) (ESTALE, EREMOTEIO of a share).
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Final

import pytest

from livecheck.casefile import CaseFolder, Shop
from tests.hostile import drives
from tests.hostile.drives import CAPTURE, command
from tests.hostile.newcomer.test_drive import answers, listed, raw
from tests.hostile.small_drive import mounted


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return drives.drive(tmp_path / "drive")


def _run(root: Path | str, *more: str, ticket: str = "T-0") -> tuple[int, str, str]:
    return command("run", "--from", str(CAPTURE), "--probes", "power", "--ticket", ticket,
                   "--same-machine", "--shop", str(root), *more)  # fmt: skip


def _not_lost(case: CaseFolder, scratch: Path, said: str) -> None:
    """A run that was taken is in its case, or kept aside; one that was refused was not begun."""
    saved = any(number > 1 and case.run_file(number).is_file() for number in case.run_numbers())
    kept = list(scratch.glob("livecheck-run*"))
    assert saved or kept or "done (" not in said, said


@contextlib.contextmanager
def _locked(path: Path, flag: str) -> Iterator[None]:
    """With a flag of the file system, which binds root too."""
    done = subprocess.run(["chattr", f"+{flag}", str(path)], capture_output=True, check=False)
    if done.returncode:
        pytest.skip(f"no such flags here: {done.stderr.decode()[:100]}")
    try:
        yield
    finally:
        subprocess.run(["chattr", f"-{flag}", str(path)], check=True)


LOCKED: Final = ("case.json", "summary.json", "report.html", "runs", "runs/0001", "",
                 "runs/0001/run.json")  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("flag", ["i", "a"])
@pytest.mark.parametrize("where", LOCKED)
def test_a_part_of_a_case_that_cannot_be_changed(
    where: str, flag: str, shop: Shop, tmp_path: Path
) -> None:
    """S09: what was saved stands; what cannot be is told, and the run is not lost."""
    case = drives.first(shop)
    before = {p: p.read_bytes() for p in case.path.rglob("*.json")}
    records = [p for p in before if p.name in ("run.json", "outcome.json")]
    with _locked(case.path / where, flag):
        status, out, err = _run(shop.root)
        assert status in (0, 3), err
        assert status == 0 or "livecheck: " in err
        _not_lost(case, tmp_path, out + err)
        answers(shop, tmp_path / "drive")
    for path in records:
        assert path.read_bytes() == before[path]
    assert case.load().damaged == ()
    assert {"T-0", "T-1"} <= set(listed(shop, "--rebuild"))
    assert _run(shop.root)[0] == 0


@contextlib.contextmanager
def _mounted(path: Path, options: str = "rw") -> Iterator[None]:
    """A file system of its own on a folder, with what was in it."""
    kept = path.with_name(f"{path.name}.kept")
    shutil.copytree(path, kept)
    with mounted(path, "size=16m"):
        shutil.copytree(kept, path, dirs_exist_ok=True)
        shutil.rmtree(kept)
        if options != "rw":
            subprocess.run(["mount", "-o", f"remount,{options}", str(path)], check=True)
        yield


@pytest.mark.parametrize("options", ["rw", "ro"])
@pytest.mark.parametrize("where", ["", "runs", "runs/0001", "outcomes"])
def test_a_mount_point_in_a_case(where: str, options: str, shop: Shop, tmp_path: Path) -> None:
    """S10: nothing is renamed from one file system to the other."""
    case = drives.first(shop)
    with _mounted(case.path / where, options):
        status, out, err = _run(shop.root)
        assert status in (0, 3), err
        saved = case.run_file(2).is_file()
        _not_lost(case, tmp_path, out + err)
        assert saved or options == "ro"
        if saved:
            assert raw(case.run_file(2))["number"] == 2
        answers(shop, tmp_path / "drive")
        assert case.load().damaged == ()
        assert not list(case.path.rglob("*.new"))
    assert "T-1" in listed(shop, "--rebuild")


DOUBLES: Final = (
    ("case.json", "CASE.JSON"),
    ("runs", "Runs"),
    ("runs/0001", "runs/0001."),
    ("runs/0001/run.json", "runs/0001/RUN.JSON"),
    ("outcomes", "OUTCOMES"),
    ("case.json", "case.json."),
    ("runs/0001", "runs/1"),
    ("", "2026-03-02-t-0"),
)


@pytest.mark.parametrize(("name", "double"), DOUBLES)
def test_names_that_another_system_holds_for_one(
    name: str, double: str, shop: Shop, tmp_path: Path
) -> None:
    """S11: the true one counts; the double stands, and nothing is lost to it."""
    case = drives.first(shop)
    source = case.path / name
    target = case.path / double if name else case.path.with_name(double)
    if source.is_dir():
        shutil.copytree(source, target)
    else:
        target.write_bytes(b'{"id": "other"}')
    stands = {p: p.read_bytes() for p in ([target] if target.is_file() else target.rglob("*.json"))}
    answers(shop, tmp_path)
    status, _, err = _run(shop.root, *([] if name else ["--case", case.path.name]))
    assert status in (0, 2), err
    if name:
        assert status == 0
        assert case.run_numbers() == (1, 2)
    assert {p: p.read_bytes() for p in stands if p.name != "summary.json"} == {
        p: data for p, data in stands.items() if p.name != "summary.json"
    }
    assert {"T-0", "T-1"} <= set(listed(shop, "--rebuild"))


@pytest.mark.parametrize("within", ["livecheck-cases", "{case}", "{case}/runs", "{case}/runs/0001"])
def test_a_shop_that_is_a_folder_within_one(within: str, shop: Shop) -> None:
    """S12: one more or one fewer level typed makes no second shop within a case."""
    case = drives.first(shop)
    named = shop.root / within.format(case=f"livecheck-cases/{case.path.name}")
    status, out, err = _run(named, ticket="T-9")
    assert status in (0, 2, 3), err
    assert not list(case.path.rglob("livecheck-cases"))
    assert not list(shop.cases_folder.glob("livecheck-cases"))
    if status == 0:
        assert "T-9" in listed(shop, "--rebuild")
    else:
        assert str(shop.root) in err
    status, out, err = command("cases", "--shop", str(named))
    assert "T-1" in out or status != 0
    assert not list(case.path.rglob("index.html"))


CALLS: Final = ("open", "stat", "lstat", "listdir", "scandir", "mkdir", "rename", "replace", "link",
                "fsync", "unlink", "write", "read", "fstat", "rmdir", "utime")  # fmt: skip


class Share:
    """A call of the system that the share answers with an error: the n-th, or from then on."""

    def __init__(self, real: Callable[..., Any], root: Path, number: int, turns: range) -> None:
        self._real, self._root, self._number, self._turns = real, str(root), number, turns
        self.calls = 0

    def _on_share(self, words: tuple[Any, ...], named: dict[str, Any]) -> bool:
        where = [*words[:1], *(named.get(key) for key in ("dir_fd", "src_dir_fd"))]
        for one in (one for one in where if one is not None):
            name = Path(f"/proc/self/fd/{one}").resolve() if isinstance(one, int) else one
            if str(name).startswith(self._root):
                return True
        return False

    def __call__(self, *words: Any, **named: Any) -> Any:
        if self._on_share(words, named):
            self.calls += 1
            if self.calls in self._turns:
                raise OSError(self._number, os.strerror(self._number))
        return self._real(*words, **named)


@pytest.mark.slow
@pytest.mark.parametrize("number", [errno.ESTALE, errno.EAGAIN])
@pytest.mark.parametrize("call", CALLS)
def test_a_share_that_answers_otherwise(
    call: str, number: int, shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """S13: once, and for ever from the first or the fourth time on."""
    case = drives.first(shop)
    files = [case.run_file(1), case.path / "outcomes/0001/outcome.json"]
    before = [p.read_bytes() for p in files]
    listing = ("cases", "--shop", str(shop.root))
    for turns in (range(1, 2), range(4, 5), range(4, 10**9)):
        for words in (None, listing, ("note", str(case.path), "x"), ("report", str(case.path))):
            with monkeypatch.context() as patched:
                share = Share(getattr(os, call), shop.root, number, turns)
                patched.setattr(os, call, share)
                status, out, err = _run(shop.root) if words is None else command(*words)
            assert status in (0, 2, 3), (words, err)
            assert status == 0 or "livecheck: " in err, (words, err)
            if words is None:
                _not_lost(case, tmp_path, out + err)
    assert [p.read_bytes() for p in files] == before
    # A folder that was taken for a run and could not be written to is said to hold nothing.
    assert all("nothing was saved" in one for one in case.load().damaged)
    assert _run(shop.root)[0] == 0
