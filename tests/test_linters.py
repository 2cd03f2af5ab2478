"""The linters are tests: ruff, mypy --strict, shellcheck, and a reason for every skip."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent
NOT_OURS = {"__pycache__", "build", "dist"}
"""Folders that hold what was made from the sources. Hidden ones are passed over too."""


def _files() -> Iterator[Path]:
    """The checkout's own files; git is not asked, for a copy of the checkout has none."""
    for folder, subfolders, names in os.walk(TOP):
        subfolders[:] = [
            s for s in subfolders if s not in NOT_OURS and (s == ".ci" or not s.startswith("."))
        ]
        yield from (Path(folder, name) for name in names)


def _is_shell(path: Path) -> bool:
    if path.suffix:
        return path.suffix == ".sh"
    if path.is_symlink() or not path.is_file():
        return False
    with path.open("rb") as file:
        first = file.readline(80)
    return first.startswith(b"#!") and first.split()[-1].endswith(b"sh")


FILES = sorted(_files())
PYTHON = [path for path in FILES if path.suffix == ".py"]
SHELL = [path for path in FILES if _is_shell(path)]


def _name(path: Path) -> str:
    return str(path.relative_to(TOP))


def _must_be_silent(*words: str) -> None:
    """Run a linter; what it complains of is the test's whole output."""
    done = subprocess.run(words, cwd=TOP, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        pytest.fail(f"{' '.join(words[:4])}\n{done.stdout}{done.stderr}", pytrace=False)


def test_linters_see_the_sources() -> None:
    """The lists the tests below work through hold what they should."""
    assert {"livecheck/host.py", "tests/test_linters.py"} <= {_name(p) for p in PYTHON}
    assert {".ci/run", "image-build/local.sh", "image-build/install.sh", "tests/run.sh"} <= {
        _name(p) for p in SHELL
    }


def test_ruff_check() -> None:
    """Common mistakes."""
    _must_be_silent(sys.executable, "-m", "ruff", "check", "--quiet", ".")


def test_ruff_format() -> None:
    """Layout of the Python sources."""
    _must_be_silent(sys.executable, "-m", "ruff", "format", "--check", ".")


@pytest.mark.slow
def test_mypy() -> None:
    """Types of package and tests, strictly."""
    _must_be_silent(sys.executable, "-m", "mypy", "--no-error-summary")


def _programs(path: Path) -> Iterator[tuple[int, str]]:
    """Programs of ours that a test keeps as text, for a guest or another process, by line."""
    for node in ast.parse(path.read_text("utf-8")).body:
        match node:
            case (
                ast.Assign(value=ast.Constant(str(words)))
                | ast.AnnAssign(value=ast.Constant(str(words)))
            ) if "\nfrom livecheck" in words:
                yield node.lineno, words


@pytest.mark.slow
def test_programs_kept_as_text(tmp_path: Path) -> None:
    """They know the names they use, as when a name of the package has changed."""
    for path in TESTS:
        for line, words in _programs(path):
            (tmp_path / f"{path.stem}_line_{line}.py").write_text(words, "utf-8")
    files = sorted(map(str, tmp_path.iterdir()))
    assert any("test_boot_line_" in file for file in files)
    _must_be_silent(sys.executable, "-m", "mypy", "--no-error-summary",
                    "--check-untyped-defs", "--config-file=", "--ignore-missing-imports",
                    "--follow-imports=silent", f"--cache-dir={os.devnull}", *files)  # fmt: skip


def test_shellcheck() -> None:
    """Shell scripts, with or without an ending to their names."""
    _must_be_silent("shellcheck", "--external-sources", "--format=gcc", *map(_name, SHELL))


SKIPPERS = {
    "pytest.skip",
    "pytest.xfail",
    "pytest.importorskip",
    "pytest.mark.skip",
    "pytest.mark.skipif",
    "pytest.mark.xfail",
    "unittest.skip",
}


def unreasoned(source: str) -> list[str]:
    """Skips and expected failures that do not say why."""
    tree = ast.parse(source)
    called = {id(node.func): node for node in ast.walk(tree) if isinstance(node, ast.Call)}
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Attribute):
            continue
        name = ast.unparse(node)
        if name in SKIPPERS and not _says_why(name, called.get(id(node))):
            found.append(f"line {node.lineno}: {name} without a reason")
    return found


def _says_why(name: str, call: ast.Call | None) -> bool:
    if call is None:
        return False
    said = [keyword.value for keyword in call.keywords if keyword.arg == "reason"]
    if name in ("pytest.skip", "pytest.xfail", "unittest.skip"):
        said += call.args[:1]
    return any(not isinstance(s, ast.Constant) or bool(s.value) for s in said)


TESTS = [path for path in PYTHON if path.is_relative_to(TOP / "tests")]


@pytest.mark.parametrize("path", TESTS, ids=_name)
def test_skips_say_why(path: Path) -> None:
    """Not tested is a result, and a result has a reason."""
    found = unreasoned(path.read_text("utf-8"))
    if found:
        pytest.fail("\n".join(f"{_name(path)}: {f}" for f in found), pytrace=False)


@pytest.mark.parametrize(
    ("source", "complaints"),
    [
        ("pytest.skip()", 1),
        ("pytest.skip('')", 1),
        ("pytest.skip('needs root')", 0),
        ("pytest.skip(reason=why)", 0),
        ("@pytest.mark.skip\ndef test_it(): ...", 1),
        ("@pytest.mark.skipif(os.geteuid() != 0)\ndef test_it(): ...", 1),
        ("@pytest.mark.skipif(os.geteuid() != 0, reason='needs root')\ndef test_it(): ...", 0),
        ("pytest.importorskip('gi')", 1),
        ("pytest.importorskip('gi', reason='no python3-gi')", 0),
    ],
)
def test_missing_reasons_are_seen(source: str, complaints: int) -> None:
    """The scan for reasons finds what it is for."""
    assert len(unreasoned(source)) == complaints
