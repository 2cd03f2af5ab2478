"""The command line: parse, call, print.

Results go to standard output, messages to standard error. Exit status: 0 done,
whatever was found; 1 a hand-over was not signed off; 2 wrong usage; 3 could not do it,
and the message says what to try.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from livecheck import knowledge, release
from livecheck.casefile import ShopError
from livecheck.commands import (
    bench,
    cases,
    flex,
    guide,
    guided,
    hand_over,
    learn,
    outcome,
    parts,
    read_log,
    replay,
    rescue,
    run,
    self_test,
    sleep,
    starts,
    take_out,
    unsaved,
)
from livecheck.commands.common import DONE, Failure, Parser, UsageError
from livecheck.commands.files import ask_shop
from livecheck.commands.language import choose
from livecheck.commands.output import complain
from livecheck.languages import LANGUAGES
from livecheck.plan_check import WrongPlan
from livecheck.records import DamagedRecord

WRONG_USAGE: Final = 2
FAILED: Final = 3

COMMANDS: Final = (
    run,
    flex,
    guide,
    guided,
    hand_over,
    cases,
    outcome,
    learn,
    parts,
    rescue,
    unsaved,
    bench,
    self_test,
    sleep,
    starts,
    take_out,
    read_log,
    replay,
)


def main(argv: Sequence[str]) -> int:
    """Run one command; returns the exit status."""
    try:
        _check_text(argv)
        _choose_language(argv)
        options = parser().parse_args(argv)
        command: Callable[[argparse.Namespace], int] = options.command
        return command(options)
    except (UsageError, WrongPlan) as error:
        return _complain(str(error), WRONG_USAGE)
    except (Failure, ShopError, DamagedRecord, knowledge.BrokenTable) as error:
        return _complain(str(error), FAILED)
    except ImportError as error:
        return _complain(f"a library is missing here: {error} (install it; see README)", FAILED)
    except BrokenPipeError:
        # Whoever read our output has had enough of it; the front door sees to what is left.
        return DONE
    except KeyboardInterrupt:
        return _complain("stopped; what was saved before stands", FAILED)


def _choose_language(argv: Sequence[str]) -> None:
    """Help and wrong usage end the parsing: what they are told in is looked for before."""
    early = Parser(add_help=False, allow_abbrev=False)
    for option in ("--language", "--shop"):
        early.add_argument(option, nargs="?")
    early.add_argument("-h", "--help", action="store_true")
    asked, _ = early.parse_known_args(argv)
    choose(asked.language)
    if asked.help and asked.language is None:
        ask_shop(Path(asked.shop) if asked.shop else None)


def _check_text(argv: Sequence[str]) -> None:
    """Words end in records, names of files and on screens: all of them hold text only.

    Raises UsageError.
    """
    for word in argv:
        try:
            word.encode("utf-8")
        except UnicodeEncodeError:
            raise UsageError(
                f"“{word[:40]}” is no text (UTF-8); rename the file, or say it so"
            ) from None
        if word.startswith("--") and word.endswith("=--"):
            # argparse of Python 3.11 takes it for an empty list.
            raise UsageError(f"{word[:-3][:40]} wants a value; -- is none")
        if "\0" in word:
            raise UsageError(f"“{word[:40]}” holds a character that no name may hold")


def _complain(message: str, status: int) -> int:
    complain(message)
    return status


def parser() -> Parser:
    """Of all commands."""
    parser = Parser(
        prog="livecheck",
        description="Finds which part of a laptop is at fault. Without a command: the console.",
    )
    parser.add_argument("--version", action="version", version=f"livecheck {release.told()}")
    parser.add_argument("--language", choices=LANGUAGES,
                        help="what is told in, whatever shop.toml says")  # fmt: skip
    parser.set_defaults(command=_console, shop=None)
    commands = parser.add_subparsers(title="commands", parser_class=Parser)
    for module in COMMANDS:
        module.add(commands)
    blind = commands.add_parser("blind", help="the whole flow spoken, answered by three keys")
    blind.add_argument("--shop", metavar="DIR", type=Path, help="folder or drive that keeps cases")
    blind.add_argument("--from", dest="source", metavar="CAPTURE", type=Path,
                       help="replay a capture instead of looking at this machine")  # fmt: skip
    blind.set_defaults(command=_blind)
    return parser


def _console(options: argparse.Namespace) -> int:
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError("the console needs a terminal; see livecheck --help for commands")
    from livecheck import console

    return console.run(options.shop, language=options.language)


def _blind(options: argparse.Namespace) -> int:
    from livecheck import console

    return console.run_blind(options.shop, options.source, language=options.language)
