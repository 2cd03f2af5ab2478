"""One case's folder: ``case.json``, ``runs/0001/run.json``, ``report.html``.

Beside them lie ``outcomes/0001/outcome.json``, what repairs proved, and
``summary.json``, which only saves others from reading the runs again.

Several benches may write to one share. A number is taken by making its folder,
which succeeds for one of them only (mkdir(2), EEXIST); what is changed rather than
added is changed behind a lock.
"""

from __future__ import annotations

import contextlib
import errno
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final, TypeVar

import msgspec

from livecheck import guarded
from livecheck.casefile import atomic, lock, place_names
from livecheck.records import (
    Case,
    DamagedRecord,
    Proved,
    Record,
    Run,
    Summary,
    TakenOut,
    decode,
    encode,
)
from livecheck.records.base import unknown_fields
from livecheck.records.seal import Seal, seal_of

_R = TypeVar("_R", bound=Record)

FIRST_NUMBER: Final = 1
HIGHEST_NUMBER: Final = 999_999_999
"""A folder of this name was made by somebody else; after it none would be found again."""
UNCHECKED: Final = (
    "carries no checksum, as records of other programs and older versions: read as it stands"
)

_NUMBER: Final = re.compile(r"[0-9]{4}|[1-9][0-9]{4,8}")


class Loaded(msgspec.Struct, frozen=True):
    """What a case folder held."""

    case: Case
    runs: tuple[Run, ...]
    """Whole runs in order of their numbers, without those that were taken out."""
    damaged: tuple[str, ...]
    """Sentences: files that could not be read. They are left as they are."""
    unchecked: tuple[str, ...] = ()
    """Sentences: files that carry no checksum and were read as they stand."""


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
        return _read(self.case_file, Case)[0]

    def save_case(self, case: Case) -> None:
        """Save the case record."""
        atomic.make_folder(self.path / "runs")
        atomic.save(self.case_file, _written(case))

    def change_case(self, change: Callable[[Case], Case]) -> Case:
        """Read, change and save the case record; two benches never undo each other's change.

        Raises as ``case`` and ``save_case`` do.
        """
        with lock.held(self.path):
            before, data = _read(self.case_file, Case)
            after = change(before)
            if after != before:
                atomic.save(self.case_file, _written(after, unknown_fields(data, Case)))
            return after

    def take_out(self, taken: TakenOut) -> Case:
        """A run is kept and no longer judged. Raises as ``change_case`` does."""
        return self._set_aside(taken.run, (taken,))

    def put_back(self, number: int) -> Case:
        """A run that was taken out is judged again. Raises as ``change_case`` does."""
        return self._set_aside(number, ())

    def _set_aside(self, number: int, instead: tuple[TakenOut, ...]) -> Case:
        def changed(case: Case) -> Case:
            others = (one for one in case.taken_out if one.run != number)
            return msgspec.structs.replace(case, taken_out=(*others, *instead))

        case = self.change_case(changed)
        self._tell()
        return case

    def claim_run(self) -> int:
        """Take the next free run number; two benches on one share never get the same."""
        return self._claim(self.path / "runs")

    def _claim(self, within: Path) -> int:
        atomic.make_folder(within)
        taken = (n for n, _ in numbered(within) if n < HIGHEST_NUMBER)
        number = max(taken, default=FIRST_NUMBER - 1) + 1
        while True:
            try:
                atomic.take_folder(within / f"{number:04d}")
            except FileExistsError:
                number += 1
                continue
            self._tell()
            return number

    def _tell(self) -> None:
        """Something below changed: the index looks at the case's own folder only."""
        with contextlib.suppress(OSError):
            atomic.mark_changed(self.path)

    def run_numbers(self) -> tuple[int, ...]:
        """Numbers of all runs begun, in order, whether or not anything was saved of them."""
        return tuple(number for number, _ in numbered(self.path / "runs"))

    def add_proved(self, proved: Proved) -> Path:
        """Add what a repair proved; returns the file. Nothing is ever replaced."""
        number = self._claim(self.path / "outcomes")
        target = self.path / "outcomes" / f"{number:04d}" / "outcome.json"
        atomic.save(target, _written(proved))
        return target

    def proved(self) -> tuple[tuple[Proved, ...], tuple[str, ...]]:
        """All that repairs proved, oldest first, and a sentence for each that is damaged."""
        whole: list[Proved] = []
        damaged: list[str] = []
        try:
            added = numbered(self.path / "outcomes")
        except DamagedRecord as error:
            return (), (f"outcomes is {error}",)
        except OSError as error:
            return (), (f"outcomes could not be read: {error.strerror}",)
        for number, folder in added:
            try:
                whole.append(_read(folder / "outcome.json", Proved)[0])
            except FileNotFoundError:
                damaged.append(f"outcome {number}: nothing was saved (cut off before)")
            except DamagedRecord as error:
                damaged.append(f"outcome {number}: outcome.json is {error}")
            except OSError as error:
                damaged.append(f"outcome {number}: could not be read: {error.strerror}")
        return tuple(whole), tuple(damaged)

    @property
    def summary_file(self) -> Path:
        return self.path / "summary.json"

    def save_summary(self, summary: Summary) -> None:
        """Save what the case came to."""
        atomic.save(self.summary_file, _written(summary))

    def summary(self) -> Summary | None:
        """What the case came to; None when it was never judged, has runs since, or is damaged."""
        try:
            summary = decode(guarded.read(self.summary_file), Summary)
            return summary if summary.numbers == self.run_numbers() else None
        except (OSError, DamagedRecord):
            return None

    def save_run(self, run: Run, kernel_log: str | None = None) -> Path:
        """Save a run under its number; returns the file."""
        target = self.run_file(run.number)
        atomic.make_folder(target.parent)
        if kernel_log is not None:
            atomic.save(target.with_name("kernel.log"), kernel_log.encode("utf-8", "replace"))
        atomic.save(target, _written(run))
        self._tell()
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
        unchecked: list[str] = []
        try:
            begun = numbered(self.path / "runs")
        except DamagedRecord as error:
            return Loaded(case, (), (f"runs is {error}",))
        except OSError as error:
            return Loaded(case, (), (f"runs could not be read: {error.strerror}",))
        names = place_names.known(self.path.parent)
        aside = {one.run for one in case.taken_out}
        for number, folder in (pair for pair in begun if pair[0] not in aside):
            file = folder / "run.json"
            try:
                run, data = _read(file, Run)
                if run.number != number:
                    damaged.append(f"run {number}: {file.name} says it is run {run.number}")
                    continue
                runs.append(place_names.renamed(run, names))
                if seal_of(data) is Seal.NONE:
                    unchecked.append(f"run {number}: {file.name} {UNCHECKED}")
            except FileNotFoundError:
                damaged.append(f"run {number}: nothing was saved (cut off before the first save)")
            except DamagedRecord as error:
                damaged.append(f"run {number}: {file.name} is {error}")
            except OSError as error:
                damaged.append(f"run {number}: {file.name} could not be read: {error.strerror}")
        return Loaded(case, tuple(runs), tuple(damaged), tuple(unchecked))


def _read(file: Path, kind: type[_R]) -> tuple[_R, bytes]:
    """A record and its bytes; those of a save that was cut off where the file itself is lost.

    Raises OSError and DamagedRecord.
    """
    try:
        data = guarded.read(file)
        return decode(data, kind), data
    except (OSError, DamagedRecord):
        for data in atomic.unfinished(file):
            if seal_of(data) is Seal.FITS:
                with contextlib.suppress(DamagedRecord):
                    return decode(data, kind), data
        raise


def _written(record: Record, more: Mapping[str, msgspec.Raw] | None = None) -> bytes:
    """A record as it is saved; one that would be refused when it is read is refused now."""
    data = encode(record, more)
    if len(data) > guarded.RECORD_BYTES:
        says = (
            f"a record of {len(data) >> 20} MiB, and livecheck reads {guarded.RECORD_BYTES >> 20}"
        )
        raise OSError(errno.EFBIG, says)
    return data


def numbered(within: Path) -> list[tuple[int, Path]]:
    """The numbered folders in a folder, in order; none where it does not exist.

    Raises OSError and DamagedRecord. Names this program never gives are passed over.
    """
    try:
        names = guarded.folders(within)
    except FileNotFoundError:
        return []
    return sorted((int(name), within / name) for name in names if _NUMBER.fullmatch(name))
