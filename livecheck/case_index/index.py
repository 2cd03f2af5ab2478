"""An index over all cases of a shop drive, kept on this computer and made anew at any time.

The record files are the truth; the index only saves reading them all for one
question. It lies in this computer's cache, never on the drive: two benches may share
the drive over a network, where an embedded database must not rely on locks
(sqlite.org, "How To Corrupt An SQLite Database File", section 2.1), and a database that
others can write to may hold triggers and views of theirs (sqlite.org, "Defense Against
The Dark Arts"). A bench that starts with an empty cache reads the summaries of all cases.

Catching up looks at each case folder's modification time: every record of a case is
renamed into its folder, which changes it (rename(2), POSIX). A folder changed so
lately that a further change could carry the same time is read again next time.
"""

from __future__ import annotations

import contextlib
import sqlite3
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Final

import msgspec

from livecheck import guarded
from livecheck.case_index import schema
from livecheck.case_index.query import BoardHistory, Hit, Query, conditions
from livecheck.case_index.reading import CaseRow, Judge, read
from livecheck.records import Complaint

FRESH_SECONDS: Final = 4
"""FAT keeps times in steps of two seconds, so a younger change may hide another."""
MOST_STAMP: Final = 1 << 63
"""SQLite's whole numbers are below it; times in the year 2262 and later are not."""
BATCH: Final = 500
WAIT_SECONDS: Final = 20.0
BROKEN: Final = (
    *(sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_SCHEMA),
    *(sqlite3.SQLITE_ERROR, sqlite3.SQLITE_FORMAT, sqlite3.SQLITE_MISMATCH),
)
"""Result codes that speak of the file's contents: damage, or other tables than ours."""

OnProgress = Callable[[int, int], None]
"""Called with the number of folders read and to be read."""


class CatchUp(msgspec.Struct, frozen=True):
    """What catching up did."""

    read: int
    gone: int
    cases: int


class Index:
    """The index of one folder of cases. A broken file is made anew, whenever that shows.

    Methods raise sqlite3.Error when this computer can keep no index at all, or another
    program keeps it locked.
    """

    def __init__(self, file: Path, cases: Path, judge: Judge) -> None:
        self.cases = cases
        self._file = file
        self._judge = judge
        try:
            self._connect()
        except sqlite3.DatabaseError as error:
            self._anew(error)

    def _connect(self) -> None:
        self._connection = sqlite3.connect(self._file, timeout=WAIT_SECONDS, isolation_level=None)
        self._connection.row_factory = sqlite3.Row
        # The index can be made anew, so a power cut may cost it.
        self._connection.execute("PRAGMA journal_mode=WAL")
        self._connection.execute("PRAGMA synchronous=OFF")
        version = self._connection.execute("PRAGMA user_version").fetchone()[0]
        if version != schema.VERSION:
            with self._changing():
                schema.make(self._connection)

    def _anew(self, error: sqlite3.DatabaseError) -> None:
        """Throw a broken index away; a locked or full one is not broken."""
        if getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR) & 0xFF not in BROKEN:
            raise error
        self._connection.close()
        forget(self._file)
        self._connect()

    def _asked(self, question: str, values: Sequence[object] = ()) -> list[sqlite3.Row]:
        try:
            return self._connection.execute(question, values).fetchall()
        except sqlite3.DatabaseError as error:
            self._anew(error)
            self.catch_up()
            return self._connection.execute(question, values).fetchall()

    def close(self) -> None:
        """Give the file back."""
        self._connection.close()

    def catch_up(
        self,
        thorough: bool = False,
        on_progress: OnProgress = lambda done, of: None,
        most: int | None = None,
    ) -> CatchUp | None:
        """Read what is new or changed since the last time; ``thorough``: everything.

        ``most``: with more folders to read than that nothing is done and None returned.
        Raises OSError when the folder of cases cannot be listed.
        """
        try:
            return self._caught_up(thorough, on_progress, most)
        except sqlite3.DatabaseError as error:
            self._anew(error)
            return self._caught_up(thorough, on_progress, most)

    def _caught_up(
        self, thorough: bool, on_progress: OnProgress, most: int | None
    ) -> CatchUp | None:
        there = _stamps(self.cases)
        known = dict(self._connection.execute("SELECT folder, stamp FROM cases").fetchall())
        wanted = [name for name, stamp in there.items() if thorough or known.get(name) != stamp]
        gone = [name for name in known if name not in there]
        if most is not None and len(wanted) > most:
            return None
        newest = max(there.values(), default=0)
        for start in range(0, len(wanted), BATCH):
            batch = wanted[start : start + BATCH]
            rows = [read(self.cases / name, self._judge, thorough) for name in batch]
            with self._changing():
                for row in rows:
                    self._put(row, _trusted(there[row.folder], newest))
            on_progress(start + len(batch), len(wanted))
        if gone:
            with self._changing():
                for name in gone:
                    self._drop(name)
        return CatchUp(len(wanted), len(gone), len(there))

    def refresh(self, folder: str) -> None:
        """Read one case again, by the name of its folder."""
        row = read(self.cases / folder, self._judge)
        with self._changing():
            self._put(row, 0)

    def find(self, query: Query) -> tuple[Hit, ...]:
        """The cases that fit, newest run first."""
        where, values = conditions(query)
        rows = self._asked(
            f"SELECT * FROM cases WHERE {where} ORDER BY last DESC, folder DESC LIMIT ?",
            (*values, query.most),
        )
        return tuple(_hit(row) for row in rows)

    def count(self, query: Query) -> int:
        """How many cases fit, shown or not."""
        where, values = conditions(query)
        (found,) = self._asked(f"SELECT count(*) FROM cases WHERE {where}", values)
        return int(found[0])

    def boards(self, query: Query) -> tuple[BoardHistory, ...]:
        """For each board model of the cases that fit: what failed in how many of them."""
        where, values = conditions(query)
        rows = self._asked(schema.BOARDS.format(where=where), values)
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
        rows = self._asked("SELECT folder, trouble FROM cases WHERE trouble <> '' ORDER BY folder")
        return tuple(f"{row['folder']}: {row['trouble']}" for row in rows)

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


def forget(file: Path) -> None:
    """Take an index away, with what SQLite keeps beside it."""
    for ending in ("", "-wal", "-shm"):
        with contextlib.suppress(OSError):
            file.with_name(file.name + ending).unlink()


def _stamps(cases: Path) -> dict[str, int]:
    """Name and time of the last change of every folder of cases."""
    stamps: dict[str, int] = {}
    try:
        with guarded.entries(cases) as entries:
            for entry in entries:
                # A folder that vanishes meanwhile is gone, and takes no other with it.
                with contextlib.suppress(FileNotFoundError):
                    if entry.is_dir(follow_symlinks=False) and not entry.name.startswith("."):
                        changed = entry.stat(follow_symlinks=False).st_mtime_ns
                        stamps[_shown(entry.name)] = changed % MOST_STAMP
    except FileNotFoundError:
        pass
    return stamps


def _shown(name: str) -> str:
    """A name that is not UTF-8 as text (PEP 383); no case of this program has one."""
    return name.encode("utf-8", "backslashreplace").decode()


def _trusted(stamp: int, newest: int) -> int:
    """The stamp to keep. The drive's own newest time is its clock, unless it is ahead of
    ours; 0 is never equal."""
    now = min(newest, time.time_ns())
    return stamp if 0 < stamp < now - FRESH_SECONDS * 10**9 else 0


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
