"""How large modules and functions may be, and that one class name means one thing.

Figures by hand; each limit is also shown a source that breaks it, so that none of
these tests passes by looking at nothing.
"""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from typing import Final, NamedTuple

import pytest

from tests.import_graph import modules


class Limits(NamedTuple):
    """The most of each; None: no limit."""

    lines: int
    function_lines: int
    parameters: int | None
    public_names: int | None


PACKAGE: Final = Limits(lines=300, function_lines=45, parameters=5, public_names=15)
TESTS: Final = Limits(lines=500, function_lines=60, parameters=None, public_names=None)
"""A test module may be a long list of cases, a fixture may want many fixtures."""

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


OURS, OUR_TESTS = modules("livecheck"), modules("tests")


def repeated(found: dict[str, str]) -> dict[str, list[str]]:
    """Class names that more than one module defines, and where."""
    where: defaultdict[str, list[str]] = defaultdict(list)
    for module, text in found.items():
        for name in classes(text):
            where[name].append(module)
    return {name: known for name, known in where.items() if len(known) > 1}


@pytest.mark.parametrize("module", OURS)
def test_a_module_and_its_functions_stay_small(module: str) -> None:
    assert not list(over(OURS[module], PACKAGE)), f"split {module} along a real seam"


@pytest.mark.parametrize("module", OUR_TESTS)
def test_a_test_module_stays_readable(module: str) -> None:
    assert not list(over(OUR_TESTS[module], TESTS)), module


def test_one_class_name_means_one_thing() -> None:
    assert not repeated(OURS), "name each for what it is"


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
