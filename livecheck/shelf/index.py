"""An index over all cases of a shop drive, kept on this computer and made anew at any time.

The record files are the truth; the index only saves reading them all for one
question. It lies in this computer's cache, never on the drive: two benches may share
the drive over a network, where an embedded database must not rely on locks
(sqlite.org, "How To Corrupt An SQLite Database File", section 2.1). So that a bench
that starts with an empty cache need not read thousands of cases, a copy of the index
travels on the drive as one file, replaced whole like every record; no one opens a
database there.

Catching up looks at each case folder's modification time: every record of a case is
renamed into its folder, which changes it (rename(2), POSIX). A folder changed so
lately that a further change could carry the same time is read again next time.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

import msgspec

from livecheck.records import Complaint
from livecheck.shelf import schema
from livecheck.shelf.query import BoardHistory, Hit, Query, conditions
from livecheck.shelf.reading import CaseRow, Judge, read

FRESH_SECONDS: Final = 4
"""FAT keeps times in steps of two seconds, so a younger change may hide another."""
BATCH: Final = 500
WAIT_SECONDS: Final = 20.0

OnProgress = Callable[[int, int], None]
"""Called with the number of folders read and to be read."""


class CatchUp(msgspec.Struct, frozen=True):
    """What catching up did."""

    read: int
    gone: int
    cases: int


class Index:
    """The index of one folder of cases. Methods raise sqlite3.Error for a broken file only."""

    def __init__(self, file: Path, cases: Path) -> None:
        self.cases = cases
        self._connection = sqlite3.connect(file, timeout=WAIT_SECONDS, isolation_level=None)
        self._connection.row_factory = sqlite3.Row
        # The index can be made anew, so a power cut may cost it.
        self._connection.execute("PRAGMA journal_mode=WAL")
        self._connection.execute("PRAGMA synchronous=OFF")
        version = self._connection.execute("PRAGMA user_version").fetchone()[0]
        if version != schema.VERSION:
            with self._changing():
                schema.make(self._connection)

    def close(self) -> None:
        """Give the file back."""
        self._connection.close()

    def catch_up(
        self,
        judge: Judge,
        thorough: bool = False,
        on_progress: OnProgress = lambda done, of: None,
        most: int | None = None,
    ) -> CatchUp | None:
        """Read what is new or changed since the last time; ``thorough``: everything.

        ``most``: with more folders to read than that nothing is done and None returned.
        Raises OSError when the folder of cases cannot be listed.
        """
        there = _stamps(self.cases)
        known = dict(self._connection.execute("SELECT folder, stamp FROM cases").fetchall())
        wanted = [name for name, stamp in there.items() if thorough or known.get(name) != stamp]
        gone = [name for name in known if name not in there]
        if most is not None and len(wanted) > most:
            return None
        newest = max(there.values(), default=0)
        for start in range(0, len(wanted), BATCH):
            batch = wanted[start : start + BATCH]
            rows = [read(self.cases / name, judge, thorough) for name in batch]
            with self._changing():
                for row in rows:
                    self._put(row, _trusted(there[row.folder], newest))
            on_progress(start + len(batch), len(wanted))
        if gone:
            with self._changing():
                for name in gone:
                    self._drop(name)
        return CatchUp(len(wanted), len(gone), len(there))

    def refresh(self, folder: str, judge: Judge) -> None:
        """Read one case again, by the name of its folder."""
        row = read(self.cases / folder, judge)
        with self._changing():
            self._put(row, 0)

    def find(self, query: Query) -> tuple[Hit, ...]:
        """The cases that fit, newest run first."""
        where, values = conditions(query)
        rows = self._connection.execute(
            f"SELECT * FROM cases WHERE {where} ORDER BY last DESC, folder DESC LIMIT ?",
            (*values, query.most),
        )
        return tuple(_hit(row) for row in rows)

    def count(self, query: Query) -> int:
        """How many cases fit, shown or not."""
        where, values = conditions(query)
        found = self._connection.execute(f"SELECT count(*) FROM cases WHERE {where}", values)
        return int(found.fetchone()[0])

    def boards(self, query: Query) -> tuple[BoardHistory, ...]:
        """For each board model of the cases that fit: what failed in how many of them."""
        where, values = conditions(query)
        rows = self._connection.execute(schema.BOARDS.format(where=where), values).fetchall()
        boards: dict[str, list[sqlite3.Row]] = {}
        for row in rows:
            boards.setdefault(row["board"], []).append(row)
        return tuple(
            BoardHistory(
                board=name,
                cases=sum(row["cases"] for row in found),
                faults=tuple(
                    (row["fault"], row["cases"], row["proved"]) for row in found if row["fault"]
                ),
            )
            for name, found in boards.items()
        )

    def troubles(self) -> tuple[str, ...]:
        """A sentence for every folder that is no case and every damaged record."""
        rows = self._connection.execute(
            "SELECT folder, trouble FROM cases WHERE trouble <> '' ORDER BY folder"
        )
        return tuple(f"{row['folder']}: {row['trouble']}" for row in rows)

    def copy_to(self, file: Path) -> None:
        """A copy of the whole index in one new file."""
        self._connection.execute("VACUUM INTO ?", (str(file),))

    @contextlib.contextmanager
    def _changing(self) -> Iterator[None]:
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._connection.execute("ROLLBACK")
            raise
        self._connection.execute("COMMIT")

    def _put(self, row: CaseRow, stamp: int) -> None:
        self._drop(row.folder)
        values = schema.values(row, stamp)
        marks = ", ".join("?" * len(values))
        self._connection.execute(
            f"INSERT INTO cases ({', '.join(values)}) VALUES ({marks})", tuple(values.values())
        )

    def _drop(self, folder: str) -> None:
        self._connection.execute("DELETE FROM cases WHERE folder = ?", (folder,))


def _stamps(cases: Path) -> dict[str, int]:
    """Name and time of the last change of every folder of cases."""
    try:
        with os.scandir(cases) as entries:
            return {
                entry.name: entry.stat().st_mtime_ns
                for entry in entries
                if not entry.name.startswith(".") and entry.is_dir()
            }
    except FileNotFoundError:
        return {}


def _trusted(stamp: int, newest: int) -> int:
    """The stamp to keep. The drive's own newest time is its clock; 0 is never equal."""
    return stamp if stamp < newest - FRESH_SECONDS * 10**9 else 0


def _hit(row: sqlite3.Row) -> Hit:
    return Hit(
        folder=row["folder"],
        case=row["case_id"],
        ticket=row["ticket"],
        complaint=Complaint(row["complaint"]) if row["complaint"] else None,
        machine=row["machine"],
        board=row["board"],
        opened=row["opened"],
        last=row["last"],
        closed=row["closed"],
        runs=row["runs"],
        side=row["side"],
        component=row["component"],
        name=row["name"],
        kind=row["kind"],
        unit=row["unit"],
        probability=row["probability"],
        sentence=row["sentence"],
        proved=row["proved"],
        trouble=row["trouble"],
    )
