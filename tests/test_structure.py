"""How large modules and functions may be, and that one class name means one thing.

Figures by hand; each limit is also shown a source that breaks it, so that none of
these tests passes by looking at nothing.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Final, NamedTuple

import pytest

TOP = Path(__file__).parent.parent


class Limits(NamedTuple):
    """The most of each; None: no limit."""

    lines: int
    function_lines: int
    parameters: int | None
    public_names: int | None


PACKAGE: Final = Limits(lines=300, function_lines=45, parameters=5, public_names=15)
TESTS: Final = Limits(lines=500, function_lines=60, parameters=None, public_names=None)
"""A test module may be a long list of cases, a fixture may want many fixtures."""

NOT_YET: Final[frozenset[str]] = frozenset(
    """
    """.strip().splitlines()
)
"""What is over a limit today, by module; the list only gets shorter."""

SAME_NAME: Final[dict[str, str]] = {}
"""Class names that several modules use, and the one thing they mean there."""

Node = ast.FunctionDef | ast.AsyncFunctionDef


def over(source: str, limits: Limits) -> Iterator[str]:
    """What is over the limits in a module."""
    tree = ast.parse(source)
    yield from _too_many("lines", source.count("\n"), limits.lines)
    yield from _too_many("public names", len(public_names(tree)), limits.public_names)
    for node in ast.walk(tree):
        if isinstance(node, Node):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            yield from _too_many(f"lines of {node.name}", length, limits.function_lines)
            count = len(parameters(node))
            yield from _too_many(f"parameters of {node.name}", count, limits.parameters)


def _too_many(what: str, count: int, most: int | None) -> Iterator[str]:
    if most is not None and count > most:
        yield f"{what}: {count}, {most} at most"


def parameters(function: Node) -> list[str]:
    """Names of what a caller hands over."""
    own = function.args
    names = [one.arg for one in (*own.posonlyargs, *own.args, *own.kwonlyargs)]
    return [name for name in names if name not in ("self", "cls")]


def public_names(tree: ast.Module) -> list[str]:
    """What a module defines for others; what it imports counts where it is defined."""
    names: list[str] = []
    for node in tree.body:
        if isinstance(node, Node | ast.ClassDef):
            names.append(node.name)
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            stored = (part for target in targets for part in ast.walk(target))
            names += [part.id for part in stored if isinstance(part, ast.Name)]
    return [name for name in names if not name.startswith("_")]


def classes(source: str) -> set[str]:
    """Names of the classes of a module."""
    return {n.name for n in ast.walk(ast.parse(source)) if isinstance(n, ast.ClassDef)}


def sources(folder: str) -> dict[str, str]:
    """Text of each module by its path; hidden folders hold what was fetched."""
    paths = sorted(path.relative_to(TOP) for path in (TOP / folder).rglob("*.py"))
    ours = (path for path in paths if not any(part.startswith(".") for part in path.parts))
    return {str(path): (TOP / path).read_text("utf-8") for path in ours}


def debts(found: dict[str, list[str]]) -> set[str]:
    """One line for each thing over a limit, without figures: as ``NOT_YET`` writes it."""
    short = {path: Path(path).stem.replace("__init__", Path(path).parent.name) for path in found}
    return {f"{short[path]}: {one.partition(': ')[0]}" for path in found for one in found[path]}


OURS = sources("livecheck")
FOUND = {path: list(over(text, PACKAGE)) for path, text in OURS.items()}


def repeated(modules: dict[str, str]) -> dict[str, list[str]]:
    """Class names that more than one module defines, and where."""
    where: defaultdict[str, list[str]] = defaultdict(list)
    for path, text in modules.items():
        for name in classes(text):
            where[name].append(path)
    return {name: paths for name, paths in where.items() if len(paths) > 1}


@pytest.mark.parametrize("path", OURS)
def test_a_module_and_its_functions_stay_small(path: str) -> None:
    new = [one for one in FOUND[path] if not debts({path: [one]}) <= NOT_YET]
    assert not new, f"{path} is over a limit; split it along a real seam"


@pytest.mark.parametrize("path", sources("tests"))
def test_a_test_module_stays_readable(path: str) -> None:
    assert not list(over((TOP / path).read_text("utf-8"), TESTS)), path


def test_one_class_name_means_one_thing() -> None:
    new = {
        name: paths
        for name, paths in repeated(OURS).items()
        if name not in SAME_NAME and f"class {name}" not in NOT_YET
    }
    assert not new, "name them for what each is, or say in SAME_NAME what both mean"


def test_lists_of_exceptions_hold_nothing_without_need() -> None:
    needed = debts(FOUND) | {f"class {name}" for name in repeated(OURS)}
    assert not NOT_YET - needed, "mended; take these lines out of NOT_YET"
    assert not SAME_NAME.keys() - repeated(OURS).keys(), "take these out of SAME_NAME"


def test_limits_bite_at_the_first_too_many_and_not_before() -> None:
    def function(length: int) -> str:
        return "def f() -> None:\n" + "    pass\n" * (length - 1)

    assert not list(over(function(45), PACKAGE))
    assert list(over(function(46), PACKAGE)) == ["lines of f: 46, 45 at most"]
    assert list(over("async " + function(46), PACKAGE))
    assert not list(over("\n" * 300, PACKAGE))
    assert list(over("\n" * 301, PACKAGE)) == ["lines: 301, 300 at most"]
    assert not list(over("def f(self, a, b, *, c, d, e): ...", PACKAGE))
    assert list(over("def f(a, b, /, c, *, d, e, g): ...", PACKAGE)) == [
        "parameters of f: 6, 5 at most"
    ]
    names = "".join(f"A{n} = B{n}, _c = 1, 2\n" for n in range(7))
    assert not list(over(f"{names}def f(): ...\n", PACKAGE))
    assert list(over(f"{names}def f(): ...\nclass C: ...", PACKAGE)) == [
        "public names: 16, 15 at most"
    ]
    assert repeated({"a": "class C: ...", "b": "def f():\n    class C: ...", "c": "C = 1"}) == {
        "C": ["a", "b"]
    }
