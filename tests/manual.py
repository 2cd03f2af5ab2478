"""Man pages and completions, made from the argument parser: ``tests.remake pages`` runs it.

They lie in shared/manual, from where the wheel takes them (``data-files`` in pyproject.toml).
Pages are man(7) in the classic macros, which mandoc and groff both read; completions are
shtab's: fixed text, so that a key pressed in the shell need not wait for Python.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple

import shtab

from livecheck import cli, languages
from livecheck.commands.language import choose

FOLDER: Final = Path(__file__).parent.parent / "shared" / "manual"
COMPLETIONS: Final = {"bash": "livecheck.bash", "zsh": "_livecheck", "fish": "livecheck.fish"}
"""Names by which each shell finds its own."""

STATUS: Final = {
    0: "It was done, whatever was found.",
    1: "A hand-over was not signed off.",
    2: "The command line makes no sense.",
    3: "It could not be done; the message says what to try.",
}


class Command(NamedTuple):
    """A command with its parser; the name is empty for the program itself."""

    name: str
    told: str
    parser: argparse.ArgumentParser

    @property
    def page(self) -> str:
        """As man(1) is asked for it."""
        return f"livecheck-{self.name}" if self.name else "livecheck"


def commands() -> list[Command]:
    """The program, then every command in the order of ``--help``."""
    choose(languages.ENGLISH)
    whole = cli.parser()
    (subs,) = (a for a in whole._actions if isinstance(a, argparse._SubParsersAction))
    told = {one.dest: one.help or "" for one in subs._choices_actions}
    own = Command("", "finds which part of a laptop is at fault", whole)
    return [own, *(Command(name, told[name], parser) for name, parser in subs.choices.items())]


def files() -> dict[str, str]:
    """Every file of the folder, by its name."""
    every = commands()
    made = {f"{one.page}.1": page(one, every) for one in every}
    for one in every:
        for action in one.parser._actions:
            if by := _completed_by(action):
                # shtab reads it there.
                action.complete = by  # type: ignore[attr-defined]
    for shell, name in COMPLETIONS.items():
        made[name] = shtab.complete(every[0].parser, shell=shell).rstrip("\n") + "\n"
    return made


def _completed_by(action: argparse.Action) -> Mapping[str, str | dict[str, str]] | None:
    if action.metavar in ("CASE", "DIR"):
        return shtab.DIRECTORY
    if action.type is Path:
        return shtab.FILE
    # Words of one's own: without an action zsh shows what is asked for, and completes no option.
    wanted = not action.option_strings and action.choices is None
    return {"zsh": "{:}"} if wanted else None


def write() -> None:
    """Make the folder anew."""
    made = files()
    FOLDER.mkdir(exist_ok=True)
    for old in FOLDER.iterdir():
        old.unlink()
    for name, text in made.items():
        (FOLDER / name).write_text(text, "utf-8")


def page(command: Command, every: list[Command]) -> str:
    """One man page."""
    lines = [f'.TH {_roff(command.page.upper())} 1 "" livecheck "livecheck"']
    lines += [".SH NAME", f"{_roff(command.page)} \\- {_roff(command.told)}", ".SH SYNOPSIS"]
    lines += _synopsis(command)
    if command.parser.description:
        lines += [".SH DESCRIPTION", _roff(command.parser.description)]
    if command.name:
        lines += [".SH OPTIONS", *_arguments(command.parser)]
    else:
        lines.append(".SH COMMANDS")
        for one in every[1:]:
            lines += [".TP", f"\\fB{_roff(one.page)}\\fR(1)", _roff(one.told)]
    lines.append(".SH EXIT STATUS")
    for status, meaning in STATUS.items():
        lines += [".TP", f"\\fB{status}\\fR", _roff(meaning)]
    if command.name:
        lines += [".SH SEE ALSO", "\\fBlivecheck\\fR(1)"]
    return "\n".join(lines) + "\n"


def _synopsis(command: Command) -> Iterator[str]:
    yield ".nh"
    yield f"\\fB{_roff(f'livecheck {command.name}'.strip())}\\fR"
    if not command.name:
        yield "[\\fICOMMAND\\fR ...]"
    for action in command.parser._actions if command.name else ():
        words = _words(action, action.option_strings[-1:])
        yield words if action.required and action.nargs not in ("?", "*") else f"[{words}]"
    yield ".hy"


def _arguments(parser: argparse.ArgumentParser) -> Iterator[str]:
    formatter = argparse.HelpFormatter(parser.prog)
    for action in parser._actions:
        yield ".TP"
        yield _words(action, action.option_strings)
        yield _roff(formatter._expand_help(action))
        if action.choices:
            yield ".br"
            yield _roff("One of: " + ", ".join(map(str, action.choices)))


def _words(action: argparse.Action, by: Sequence[str]) -> str:
    """As it is typed: names in bold, what stands for something else in italics."""
    value = ""
    if action.nargs != 0:
        value = f"\\fI{_roff(str(action.metavar or action.dest.upper()))}\\fR"
    names = ", ".join(f"\\fB{_roff(name)}\\fR" for name in by)
    return " ".join(part for part in (names, value) if part)


def _roff(text: str) -> str:
    """Text that means itself: no escapes, hyphens to be typed, and no line that is a request."""
    plain = text.replace("\\", "\\e").replace("-", "\\-").replace("'", "\\(aq")
    return f"\\&{plain}" if plain.startswith(".") else plain
