"""What the console asks of files: in threads, so that a slow drive holds nothing up."""

from __future__ import annotations

from pathlib import Path

from livecheck import session
from livecheck.casefile import CaseFolder, presence
from livecheck.casefile.shop import explain
from livecheck.console.claims import Case
from livecheck.host import LiveHost
from livecheck.records import DamagedRecord


def case(path: Path) -> Case | str:
    """A case with its verdict; a sentence where it cannot be read."""
    folder = CaseFolder(path)
    try:
        tables, _ = session.tables(path.resolve().parent.parent)
        loaded = folder.load()
    except (OSError, DamagedRecord) as error:
        return f"{path}: {error}"
    location = session.locate_case(loaded, tables)
    return Case(loaded=loaded, location=location, tables=tables, report=str(folder.report_file))


def rule_out(path: Path, step: str) -> str | None:
    """Keep in a case that a step cannot be done here; a sentence where that failed."""
    folder = CaseFolder(path)
    try:
        session.note(folder, cannot=(step,))
    except OSError as error:
        return str(explain(error, path))
    except DamagedRecord as error:
        return f"{path}: {error}"
    return write_report(path)


def write_report(path: Path) -> str | None:
    """Write a case's report again; a sentence where that failed."""
    try:
        tables, _ = session.tables(path.resolve().parent.parent)
        session.write_report(CaseFolder(path), tables)
    except OSError as error:
        return str(explain(error, path))
    except DamagedRecord as error:
        return f"{path}: {error}"
    return None


def shop_trouble(folder: Path, mount: presence.Mount | None) -> str | None:
    """Why nothing can be saved any more; None while all is well."""
    return presence.trouble(LiveHost(), folder, mount)
