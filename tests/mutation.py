"""``python -m tests.mutation --each N --seed S [PACKAGE ...]``: do the tests see small changes?

Single places of a package are changed, drawn by the seed: a comparison, ``and`` for ``or``, a
condition turned round, a figure, a constant, a sum. The package's tests run on a copy of the
checkout with one such change; where they all pass, the change has survived and is named.
Printed are the share that did not survive, and the survivors.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any, Final, NamedTuple

TOP: Final = Path(__file__).parent.parent
TESTS: Final = {
    "casefile": ("tests/casefile", "tests/hostile/test_drive.py", "tests/case_index"),
    "kernel_log": (
        "tests/test_kernel_log.py",
        "tests/test_kernel_statuses.py",
        "tests/test_mce_status.py",
        "tests/test_read_log.py",
        "tests/test_log_forms.py",
        "tests/hostile/outsider/test_evidence.py",
    ),
    "topology": ("tests/topology", "tests/diagnosis"),
    "diagnosis": ("tests/diagnosis", "tests/topology"),
}
"""Package -> tests that are to see a change of it, the quickest first."""
SECONDS: Final = 300.0
"""A change that makes the tests run longer is seen."""

_OTHER: Final[dict[type[ast.AST], type[ast.AST]]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot,
    ast.IsNot: ast.Is, ast.And: ast.Or, ast.Or: ast.And, ast.Add: ast.Sub, ast.Sub: ast.Add,
    ast.Mult: ast.Div, ast.Div: ast.Mult,
}  # fmt: skip


class Change(NamedTuple):
    """One place of a module, and what it is changed to."""

    line: int
    says: str
    make: Callable[[], None]
    """Changes the tree the place is in."""


def changes(tree: ast.Module) -> list[Change]:
    """Every change of a module, each to be made on a tree of its own."""
    return [change for node in ast.walk(tree) for change in _changes(node)]


def _changes(node: ast.AST) -> Iterator[Change]:
    if isinstance(node, ast.Compare):
        for n, operator in enumerate(node.ops):
            yield from _swapped(node, operator, partial(node.ops.__setitem__, n))
    elif isinstance(node, ast.BoolOp | ast.BinOp):
        yield from _swapped(node, node.op, lambda new: setattr(node, "op", new))
    elif isinstance(node, ast.If | ast.IfExp | ast.While):
        turned = ast.UnaryOp(op=ast.Not(), operand=node.test)
        yield Change(node.lineno, "condition turned round", lambda: setattr(node, "test", turned))
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool | int | float):
        was = node.value
        new = not was if isinstance(was, bool) else was + 1
        yield Change(node.lineno, f"{was} for {new}", lambda: setattr(node, "value", new))
    elif isinstance(node, ast.Return) and ast.unparse(node) not in ("return", "return None"):
        nothing = ast.Constant(value=None)
        yield Change(node.lineno, "nothing returned", lambda: setattr(node, "value", nothing))


def _swapped(node: ast.expr, operator: ast.AST, put: Callable[[Any], None]) -> Iterator[Change]:
    other = _OTHER.get(type(operator))
    if other is not None:
        says = f"{type(operator).__name__} for {other.__name__}"
        yield Change(node.lineno, says, lambda: put(other()))


def changed(source: str, number: int) -> tuple[str, Change]:
    """A module with its change of that number made."""
    tree = ast.parse(source)
    change = changes(tree)[number]
    change.make()
    return ast.unparse(ast.fix_missing_locations(tree)), change


class Copy:
    """A copy of the checkout, in which modules are changed."""

    def __init__(self, folder: Path) -> None:
        self.top = folder / "checkout"
        hidden = shutil.ignore_patterns(".venv", ".git", "__pycache__", "build", ".mypy_cache")
        shutil.copytree(TOP, self.top, ignore=hidden, symlinks=True)
        self._compiled = folder / "compiled"
        self._time = int(time.time())

    def passes(self, tests: Sequence[str]) -> bool:
        """Whether these tests all pass, and in time."""
        environment = os.environ | {
            "PYTHONPATH": str(self.top), "PYTHONPYCACHEPREFIX": str(self._compiled),
        }  # fmt: skip
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        words = ["-m", "pytest", "-qx", "-m", "not slow and not boot", "-p", "no:cacheprovider"]
        try:
            done = subprocess.run(
                [sys.executable, *words, *tests], cwd=self.top, env=environment, timeout=SECONDS,
                stdin=subprocess.DEVNULL, capture_output=True, check=False,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return False
        return done.returncode == 0

    def write(self, path: Path, source: str) -> None:
        """Write a module. Compiled modules are known by their times, in whole seconds."""
        self._time += 1
        (self.top / path).write_text(source, "utf-8")
        os.utime(self.top / path, (self._time, self._time))


def drawn(package: str, count: int, dice: random.Random) -> list[tuple[Path, int]]:
    """So many places of a package: the module and the number of the change in it."""
    paths = sorted((TOP / "livecheck" / package).rglob("*.py"))
    every = [
        (path.relative_to(TOP), number)
        for path in paths
        for number in range(len(changes(ast.parse(path.read_text("utf-8")))))
    ]
    return dice.sample(every, min(count, len(every)))


def run(package: str, count: int, seed: int, copy: Copy) -> bool:
    """Print a package's score and survivors. False: its tests fail without any change."""
    if not copy.passes(TESTS[package]):
        print(f"{package}: its tests fail as it stands")
        return False
    places, survivors = drawn(package, count, random.Random(seed)), 0
    for path, number in places:
        sound = (TOP / path).read_text("utf-8")
        source, change = changed(sound, number)
        copy.write(path, source)
        if copy.passes(TESTS[package]):
            survivors += 1
            print(f"  {path}:{change.line} {change.says}", flush=True)
        copy.write(path, sound)
    seen = len(places) - survivors
    print(f"{package}: {seen} of {len(places)} changes seen, {seen / len(places):.0%}", flush=True)
    return True


def main() -> int:
    """The command line; status 1 where a package's tests fail without any change."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("packages", nargs="*", default=list(TESTS), metavar="PACKAGE")
    parser.add_argument("--each", type=int, default=40, help="changes of each package")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="livecheck-mutation-") as folder:
        copy = Copy(Path(folder))
        done = [run(name, options.each, options.seed, copy) for name in options.packages]
    return 0 if all(done) else 1


if __name__ == "__main__":
    sys.exit(main())
