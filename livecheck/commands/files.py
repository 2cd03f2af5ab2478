"""Cases, tables and captures as commands find them; what went wrong is a Failure."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from livecheck import capture, guarded
from livecheck.casefile import CaseFolder, Loaded, ShopError, find_shop
from livecheck.commands.checking import case_folder, is_folder
from livecheck.commands.common import Failure
from livecheck.commands.language import at_shop
from livecheck.commands.output import complain
from livecheck.host import Host
from livecheck.live_host import LiveHost
from livecheck.records import DamagedRecord, Knowledge

_RECORDS: Final = (".json", ".jsonl", ".toml")


@contextmanager
def run_kept(options: argparse.Namespace) -> Iterator[None]:
    """A run the shop drive refused is kept elsewhere; the failure says where, and the way back."""
    from livecheck.saving import Unsaved, keep_elsewhere

    try:
        yield
    except Unsaved as error:
        try:
            file = str(keep_elsewhere(error.run))
        except OSError as worse:
            why = f"nor could the run be kept elsewhere: {worse.strerror}"
            raise Failure(f"{error}; {why} (free some space, and make it again)") from error
        named = [(name, getattr(options, name, None)) for name in ("ticket", "case")]
        words = [word for name, told in named if told for word in (f"--{name}", str(told))]
        back = shlex.join(["livecheck", "save", file, *words])
        raise Failure(
            f"{error}. The run was kept in {file} (once the drive takes it: {back})"
        ) from error


def case_of(options: argparse.Namespace) -> Path:
    """Folder of the case that was named. Raises Failure."""
    return case_folder(options.case, lambda: find_shop(LiveHost(), options.shop))


def load(path: Path) -> Loaded:
    """A case's saved runs; raises Failure with what to try."""
    if not is_folder(path):
        raise Failure(f"{path} is not a folder (give the case's folder or id; see livecheck cases)")
    try:
        return CaseFolder(path).load()
    except FileNotFoundError as error:
        raise Failure(
            f"{path} is not a case: it holds no case.json (see livecheck cases)"
        ) from error
    except DamagedRecord as error:
        raise Failure(
            f"{path}: case.json is {error}. Its runs are untouched; "
            "restore case.json from a copy or start a new case"
        ) from error
    except OSError as error:
        raise Failure(f"{path}: {error.strerror} (check the drive, run as root)") from error


def root_of(case: Path) -> Path:
    """The shop drive a case folder lies on: two folders up, past ``livecheck-cases``."""
    return guarded.named(case).absolute().parent.parent


def read_tables(root: Path, besides: str | None = None) -> Knowledge:
    """The tables with the shop's own figures; what is wrong with those goes to standard error.

    ``besides``: id of a case that is not to be judged by its own outcomes.
    """
    from livecheck.judgement import shop_tables

    tables, trouble = shop_tables(root, besides)
    at_shop(tables.shop.language)
    if trouble:
        complain(trouble)
    return tables


def ask_shop(named: Path | None) -> None:
    """Tell in the shop's language, where a shop is found and says one."""
    with suppress(ShopError, DamagedRecord):
        read_tables(find_shop(LiveHost(), named).root)


def captured(path: Path) -> Host:
    """A capture to replay; raises Failure where it cannot be read."""
    try:
        return capture.load(path)
    except OSError as error:
        raise Failure(f"{path}: {error.strerror} (livecheck capture FILE makes one)") from error


def write_failed(error: OSError, path: Path) -> Failure:
    """A file of the technician's own choosing that could not be written."""
    return Failure(f"cannot write {path}: {error.strerror or error} (name another file)")


def writable(path: Path) -> Path:
    """A file of the technician's own choosing, with its links followed: a new one, or a page.

    Nothing is written to a device, which may be the customer's drive, nor over a record.
    """
    file = guarded.named(path)
    try:
        new, plain = not file.exists(), file.is_file()
    except OSError:
        return file  # so the writing tells why not
    if new:
        return file
    if not plain:
        raise Failure(f"cannot write {path}: it is a folder or a device (name another file)")
    if file.suffix in _RECORDS:
        raise Failure(f"cannot write {path}: a record or table stands there (name another file)")
    if file.stat().st_nlink > 1:
        raise Failure(f"cannot write {path}: it has a second name elsewhere (name another file)")
    return file
