"""One case's folder: ``case.json``, ``runs/0001/run.json``, ``report.html``."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import msgspec

from livecheck.casefile import atomic
from livecheck.records import Case, DamagedRecord, Run, decode, encode

FIRST_NUMBER: Final = 1


class Loaded(msgspec.Struct, frozen=True):
    """What a case folder held."""

    case: Case
    runs: tuple[Run, ...]
    """Whole runs in order of their numbers."""
    damaged: tuple[str, ...]
    """Sentences: files that could not be read. They are left as they are."""


class CaseFolder:
    """A case on disk. Every method that writes raises OSError when the drive refuses."""

    def __init__(self, path: Path) -> None:
        self.path = path

    @property
    def case_file(self) -> Path:
        return self.path / "case.json"

    @property
    def report_file(self) -> Path:
        return self.path / "report.html"

    def run_file(self, number: int) -> Path:
        """Where the run of that number stands."""
        return self.path / "runs" / f"{number:04d}" / "run.json"

    def case(self) -> Case:
        """Raises OSError when there is no case file and DamagedRecord when it is not whole."""
        return decode(self.case_file.read_bytes(), Case)

    def save_case(self, case: Case) -> None:
        """Save the case record."""
        atomic.make_folder(self.path / "runs")
        atomic.save(self.case_file, encode(case))

    def claim_run(self) -> int:
        """Take the next free run number; two benches on one share never get the same."""
        runs = self.path / "runs"
        atomic.make_folder(runs)
        number = max((n for n, _ in self._numbered()), default=FIRST_NUMBER - 1) + 1
        while True:
            try:
                (runs / f"{number:04d}").mkdir()
            except FileExistsError:
                number += 1
                continue
            atomic.sync_folder(runs)
            return number

    def save_run(self, run: Run, kernel_log: str | None = None) -> Path:
        """Save a run under its number; returns the file."""
        target = self.run_file(run.number)
        atomic.make_folder(target.parent)
        if kernel_log is not None:
            atomic.save(target.with_name("kernel.log"), kernel_log.encode("utf-8", "replace"))
        atomic.save(target, encode(run))
        return target

    def save_report(self, html: str) -> Path:
        """Save the report; returns the file."""
        atomic.save(self.report_file, html.encode("utf-8"))
        return self.report_file

    def load(self) -> Loaded:
        """Everything readable. Raises as ``case`` does; damaged runs are named, not fatal."""
        case = self.case()
        runs: list[Run] = []
        damaged: list[str] = []
        for number, folder in self._numbered():
            file = folder / "run.json"
            try:
                runs.append(decode(file.read_bytes(), Run))
            except FileNotFoundError:
                damaged.append(f"run {number}: nothing was saved (cut off before the first save)")
            except DamagedRecord as error:
                damaged.append(f"run {number}: {file.name} is {error}")
            except OSError as error:
                damaged.append(f"run {number}: {file.name} could not be read: {error.strerror}")
        return Loaded(case, tuple(runs), tuple(damaged))

    def _numbered(self) -> list[tuple[int, Path]]:
        try:
            entries = list((self.path / "runs").iterdir())
        except FileNotFoundError:
            return []
        return sorted((int(e.name), e) for e in entries if e.name.isdigit() and e.is_dir())
