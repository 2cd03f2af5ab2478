"""Man pages and completions: those of today, whole, read by mandoc, and completed by shells.

Outside judges: mandoc's own checks of man(7), and bash, zsh and fish themselves.
"""

from __future__ import annotations

import os
import pty
import re
import select
import shutil
import subprocess
import time
from pathlib import Path
from typing import Final

import pytest

from tests import manual

FOLDER: Final = manual.FOLDER
ASKED: Final = "livecheck --help"
SHELLS: Final = {
    "bash": (["bash", "--norc", "--noprofile", "-i"], "source {}/livecheck.bash"),
    "zsh": (
        ["zsh", "-f", "-i"],
        "fpath=({} $fpath); autoload -U compinit && compinit -u -D; PS1='$ '",
    ),
}


def _needs(tool: str) -> str:
    found = shutil.which(tool)
    if found is None:
        pytest.skip(f"{tool} is not here (image-build/packages/test)")
    return found


def _output(*command: str, home: Path | None = None) -> str:
    own = {**os.environ, "HOME": str(home)} if home else None
    return subprocess.run(command, capture_output=True, text=True, check=False, env=own).stdout


def test_what_is_kept_is_what_the_commands_say_today() -> None:
    kept = {file.name: file.read_text("utf-8") for file in FOLDER.iterdir()}
    assert kept == manual.files(), "make them anew: python -m tests.remake pages"


@pytest.mark.parametrize("command", manual.commands(), ids=lambda one: one.page)
def test_a_page_names_every_option_and_says_something_of_it(command: manual.Command) -> None:
    """As a reader sees it: mandoc sets it without a warning, and each option has its line."""
    page = str(FOLDER / f"{command.page}.1")
    _needs("mandoc")
    lint = _output("mandoc", "-T", "lint", "-W", "warning", page)
    # A date would change with every build.
    assert [line for line in lint.splitlines() if "missing date" not in line] == []
    shown = _output("mandoc", "-T", "utf8", "-O", "width=78", page)
    plain = re.sub(".\b", "", shown)
    assert f"{command.page} - {command.told}" in " ".join(plain.split()).replace("‐", "-")
    for action in command.parser._actions if command.name else ():
        assert action.help, f"{command.name}: {action.dest} says nothing of itself"
        for name in action.option_strings:
            assert re.search(rf"^ {{7}}.*{re.escape(name)}\b", plain, re.MULTILINE)


def _typed(shell: str, keys: str, folder: Path) -> list[str]:
    """The words a shell made of keys pressed at its prompt, tabulators among them."""
    _needs(shell)
    command, setting = SHELLS[shell]
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(folder)
        os.execvpe(command[0], command, {**os.environ, "TERM": "dumb", "PS1": "$ "})
    told = folder / "told"
    try:
        for line in (
            setting.format(FOLDER),
            f"livecheck() {{ printf '%s\\n' \"$@\" >{told}.new && mv {told}.new {told}; }}",
        ):
            os.write(terminal, f"{line}\n".encode())
            _listen(terminal, 1.0)
        for key in re.split("(\t)", keys):
            os.write(terminal, key.encode())
            _listen(terminal, 0.5)
        os.write(terminal, b"\n")
        ends = time.monotonic() + 20
        while not told.exists() and time.monotonic() < ends:
            _listen(terminal, 0.2)
        return told.read_text("utf-8").splitlines()
    finally:
        os.close(terminal)
        os.waitpid(child, 0)


def _listen(terminal: int, seconds: float) -> None:
    """Until nothing more is said for so long."""
    while select.select([terminal], [], [], seconds)[0]:
        try:
            os.read(terminal, 4096)
        except OSError:
            return


@pytest.mark.slow
@pytest.mark.parametrize("shell", SHELLS)
@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ("livecheck hand\t--so\t8", ["hand-over", "--soak", "8"]),
        ("livecheck take\t--wh\tbe\t", ["take-out", "--why", "be"]),
        ("livecheck run --compl\tno-pi\t", ["run", "--complaint", "no-picture"]),
        ("livecheck save un\t", ["save", "unsaved.run"]),
        ("livecheck run --shop be\t", ["run", "--shop", "bench"]),
    ],
    ids=[
        "command-and-option",
        "before-a-word",
        "a-choice",
        "a-file",
        "a-folder",
    ],
)
def test_a_shell_completes(shell: str, keys: str, words: list[str], tmp_path: Path) -> None:
    """Beside a folder there is a file whose name begins alike: --shop takes folders alone."""
    (tmp_path / "unsaved.run").touch()
    (tmp_path / "bench").mkdir()
    (tmp_path / "beside").touch()
    assert [word.rstrip("/") for word in _typed(shell, keys, tmp_path)] == words


@pytest.mark.slow
@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("livecheck hand", {"hand-over"}),
        ("livecheck hand-over --so", {"--soak"}),
        ("livecheck run --complaint no-p", {"no-power", "no-picture"}),
    ],
)
def test_fish_completes(line: str, offered: set[str], tmp_path: Path) -> None:
    _needs("fish")
    script = f"source {FOLDER}/livecheck.fish; complete --do-complete '{line}'"
    shown = _output("fish", "--no-config", "--command", script, home=tmp_path)
    assert {row.split("\t")[0] for row in shown.splitlines()} == offered
