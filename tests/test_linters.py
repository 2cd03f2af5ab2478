"""The linters are tests: ruff, mypy --strict, shellcheck, and the house's own size limits."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

TOP = Path(__file__).parent.parent
MOST_MODULE_LINES = 500
MOST_FUNCTION_LINES = 60


def _tracked(*patterns: str) -> list[Path]:
    """Source files of the checkout; a checkout without git (a tarball) is listed by hand."""
    skipped = {".venv", "build", "dist", ".cache"}
    return sorted(
        path
        for pattern in patterns
        for path in TOP.rglob(pattern)
        if not skipped & set(path.relative_to(TOP).parts)
    )


PYTHON = _tracked("*.py")


def _complaints(*words: str) -> str:
    done = subprocess.run(words, cwd=TOP, capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else f"\n{done.stdout}{done.stderr}"


@pytest.mark.parametrize("words", [["ruff", "check", "."], ["ruff", "format", "--check", "."]],
                         ids=" ".join)  # fmt: skip
def test_ruff(words: list[str]) -> None:
    """Style and common mistakes."""
    said = _complaints(sys.executable, "-m", *words)
    assert not said, said


def test_mypy() -> None:
    """Types of package and tests, strictly."""
    said = _complaints(sys.executable, "-m", "mypy")
    assert not said, said


def test_shellcheck() -> None:
    """Shell scripts."""
    scripts = [str(p) for p in [*_tracked("*.sh"), TOP / ".ci" / "run"]]
    said = _complaints("shellcheck", "-x", *scripts)
    assert not said, said


@pytest.mark.parametrize("path", PYTHON, ids=lambda p: str(p.relative_to(TOP)))
def test_sizes(path: Path) -> None:
    """No module over 500 lines, no function over a screen."""
    source = path.read_text("utf-8")
    assert source.count("\n") <= MOST_MODULE_LINES
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            assert length <= MOST_FUNCTION_LINES, f"{node.name} has {length} lines"
