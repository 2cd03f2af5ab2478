"""What the commands share: how they are declared, and how they fail."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NoReturn

from livecheck.commands.output import told
from livecheck.records import Complaint

DONE: Final = 0
NOT_SIGNED: Final = 1
"""A hand-over that was made, and says no."""


class UsageError(Exception):
    """The command line makes no sense; says what does."""


class Failure(Exception):
    """It could not be done; says what to try."""


class _Told(argparse.HelpFormatter):
    """Help in the language that is told in."""

    def add_usage(
        self,
        usage: str | None,
        actions: Iterable[argparse.Action],
        groups: Iterable[argparse._MutuallyExclusiveGroup],
        prefix: str | None = None,
    ) -> None:
        super().add_usage(usage, actions, groups, told("usage: ") if prefix is None else prefix)

    def start_section(self, heading: str | None) -> None:
        super().start_section(heading and told(heading))

    def add_text(self, text: str | None) -> None:
        super().add_text(text and told(text))

    def _get_help_string(self, action: argparse.Action) -> str | None:
        return action.help and told(action.help)


class Parser(argparse.ArgumentParser):
    """Wrong usage is an exception, so that only the front door ends the process."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**{"formatter_class": _Told, **settings})

    def error(self, message: str) -> NoReturn:
        said = next((c for c in Complaint if message == f"unrecognized arguments: {c}"), None)
        meant = f"; a complaint is told with --complaint {said}" if said is not None else ""
        raise UsageError(f"{message}{meant} (see {self.prog} --help)")


if TYPE_CHECKING:
    Subparsers = argparse._SubParsersAction[Parser]
else:
    Subparsers = argparse._SubParsersAction


def common(parser: argparse.ArgumentParser, command: Callable[[argparse.Namespace], int]) -> None:
    """Give a command the options every one has, and what it runs."""
    parser.add_argument("--shop", metavar="DIR", type=Path, help="folder or drive that keeps cases")
    parser.add_argument("--json", action="store_true", help="machine-readable result")
    parser.set_defaults(command=command)


def told_argument(parser: argparse.ArgumentParser) -> None:
    """Lines of the intake sheet."""
    parser.add_argument("--told", metavar="ROW=WORDS", action="append", default=[],
                        help="a line of the intake sheet: since=weeks, 'after=a fall'")  # fmt: skip


def machine_argument(parser: argparse.ArgumentParser) -> None:
    """Whether a machine that tells another name of itself may go on with a case."""
    parser.add_argument("--same-machine", action="store_true",
                        help="it is the case's machine, though it names another board")  # fmt: skip


def case_argument(parser: argparse.ArgumentParser, nargs: str | None = None) -> None:
    """The case a command is about."""
    ways = "a case's folder, its id or its ticket"
    parser.add_argument("case", metavar="CASE", nargs=nargs, help=ways)
