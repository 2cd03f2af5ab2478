"""Every system call that saving makes fails in turn, as SQLite's own tests do it.

Source of the manner: sqlite.org/testing.html, "I/O Error Testing". The calls are those that
``os`` makes for the modules that save; what must hold is what ``atomic`` promises.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import msgspec
import pytest

from livecheck.casefile import CaseFolder, Shop, atomic
from livecheck.records import Complaint, Inventory, Run

CALLS: Final = ("open", "write", "fsync", "rename", "mkdir", "fstat", "utime", "unlink", "scandir",
                "close", "read", "readlink")  # fmt: skip


class Failing:
    """Counts the calls, and makes one of them fail."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, which: int, number: int) -> None:
        self.made: list[str] = []
        self._which, self._number = which, number
        for name in CALLS:
            monkeypatch.setattr(os, name, self._wrapped(name, getattr(os, name)))

    @property
    def failed(self) -> bool:
        return len(self.made) > self._which

    def _wrapped(self, name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **named: Any) -> Any:
            self.made.append(name)
            if len(self.made) == self._which + 1:
                if name == "close":
                    real(*given, **named)  # as Linux does: the descriptor is gone either way
                raise OSError(self._number, os.strerror(self._number))
            return real(*given, **named)

        return call


@pytest.mark.parametrize("number", [errno.EIO, errno.ENOSPC, errno.EACCES], ids=errno.errorcode.get)
def test_a_save_is_the_old_file_or_the_new(tmp_path: Path, number: int) -> None:
    """Whichever call fails: whole, and what is reported as saved is saved."""
    target = tmp_path / "run.json"
    for which in range(200):
        atomic.save(target, b"old")
        with pytest.MonkeyPatch.context() as patched:
            failing = Failing(patched, which, number)
            try:
                atomic.save(target, b"new" * 1000)
                reported = True
            except OSError:
                reported = False
        held = target.read_bytes()
        assert held in (b"old", b"new" * 1000), failing.made
        assert held != b"old" or not reported, failing.made
        if not failing.failed:
            break
        for left in tmp_path.glob(".*.new"):
            # Only where taking it away was the call that failed.
            assert failing.made[which] in ("unlink", "close"), failing.made
            left.unlink()
    assert which > 8


def test_a_case_with_a_run_stands_whatever_fails(tmp_path: Path) -> None:
    """Claiming, saving and changing: an OSError or success, and the case is read afterwards."""
    case = Shop(tmp_path).open_case(Inventory(), "T", Complaint.SLOW, "2026-03-01T00:00:00Z")
    which, saved = 0, 0
    while which < 400:
        with pytest.MonkeyPatch.context() as patched:
            failing = Failing(patched, which, errno.EIO)
            try:
                run = Run(number=case.claim_run(), started="2026-03-01T00:00:00Z")
                case.save_run(run)
                case.change_case(lambda kept: msgspec.structs.replace(kept, outcome="x"))
                saved += 1
            except OSError:
                pass
        loaded = CaseFolder(case.path).load()
        assert len(loaded.runs) >= saved
        assert all("cut off before" in sentence for sentence in loaded.damaged)
        if not failing.failed:
            break
        which += 1
    assert 30 < which < 400
