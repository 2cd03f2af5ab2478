"""What the commands share: their errors, their options, and how results are printed."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Final, NoReturn

import msgspec

from livecheck import capture, guarded
from livecheck.casefile import CaseFolder, Loaded
from livecheck.host import Host
from livecheck.records import DamagedRecord, Knowledge
from livecheck.wording import clean

if TYPE_CHECKING:
    from livecheck.probes.runner import Event
    from livecheck.saving import Saved

DONE: Final = 0


class UsageError(Exception):
    """The command line makes no sense; says what does."""


class Failure(Exception):
    """It could not be done; says what to try."""


class Parser(argparse.ArgumentParser):
    """Wrong usage is an exception, so that only the front door ends the process."""

    def error(self, message: str) -> NoReturn:
        raise UsageError(f"{self.prog}: {message} (see {self.prog} --help)")


if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[Parser]
else:
    Subparsers = argparse._SubParsersAction


def common(parser: argparse.ArgumentParser, command: Callable[[argparse.Namespace], int]) -> None:
    """Give a command the options every one has, and what it runs."""
    parser.add_argument("--shop", metavar="DIR", type=Path, help="folder or drive that keeps cases")
    parser.add_argument("--json", action="store_true", help="machine-readable result")
    parser.set_defaults(command=command)


@contextmanager
def run_kept() -> Iterator[None]:
    """A run the shop drive refused is kept elsewhere, and the failure says where."""
    from livecheck.saving import Unsaved, keep_elsewhere

    try:
        yield
    except Unsaved as error:
        raise Failure(f"{error}. The run was kept in {keep_elsewhere(error.run)}") from error


def case_folder(words: str) -> Path:
    """A case's folder as a person gave it: a link is followed to what is meant, here only."""
    return guarded.named(Path(words))


def load(path: Path) -> Loaded:
    """A case's saved runs; raises Failure with what to try."""
    if not path.is_dir():
        raise Failure(f"{path} is not a folder (give the case's own folder; see livecheck cases)")
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
    return case.resolve().parent.parent


def read_tables(root: Path, besides: str | None = None) -> Knowledge:
    """The tables with the shop's own figures; what is wrong with those goes to standard error.

    ``besides``: id of a case that is not to be judged by its own outcomes.
    """
    from livecheck.judgement import shop_tables

    tables, trouble = shop_tables(root, besides)
    if trouble:
        complain(trouble)
    return tables


def complain(message: str) -> None:
    """A message on standard error; names and keys of files in it steer no terminal."""
    lines = "\n".join(clean(line) for line in message.split("\n"))
    print(f"livecheck: {lines}", file=sys.stderr)


def captured(path: Path) -> Host:
    """A capture to replay; raises Failure where it cannot be read."""
    try:
        return capture.load(path)
    except OSError as error:
        raise Failure(f"{path}: {error.strerror} (livecheck capture FILE makes one)") from error


def tell(event: Event) -> None:
    """One line of progress on standard error."""
    from livecheck import printing

    line = printing.event(event)
    if line:
        print(line, file=sys.stderr)


def print_saved(saved: Saved, tables: Knowledge, as_json: bool) -> None:
    """What a saved run came to, on standard output."""
    from livecheck import printing

    if as_json:
        print_json(printing.saved_json(saved))
    else:
        print(printing.saved(saved, tables))


def print_json(value: object) -> None:
    """A result for other programs, on standard output."""
    told = msgspec.json.format(msgspec.json.encode(value), indent=1)
    # Terminals obey the controls of ECMA-48, 8.3 in UTF-8 too; in JSON they can be spelt out.
    told = re.sub(rb"\xc2[\x80-\x9f]", lambda found: b"\\u00%02x" % found[0][1], told)
    sys.stdout.buffer.write(told + b"\n")
    sys.stdout.buffer.flush()
