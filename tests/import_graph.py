"""Which module imports which, read from the sources: late imports and those for types too."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

TOP: Final = Path(__file__).parent.parent


def modules(folder: str) -> dict[str, str]:
    """Text of every module below a folder of the checkout, by its dotted name."""
    paths = (path.relative_to(TOP) for path in sorted((TOP / folder).rglob("*.py")))
    ours = (path for path in paths if not any(part.startswith(".") for part in path.parts))
    return {module_name(path): (TOP / path).read_text("utf-8") for path in ours}


def module_name(path: Path) -> str:
    """Dotted name of a module by its path in the checkout."""
    parts = path.with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def within(name: str, *packages: str) -> bool:
    """Whether a module is one of these, or lies in one of them."""
    return any(name == package or name.startswith(f"{package}.") for package in packages)


def imports(module: str, source: str) -> Iterator[tuple[str, bool]]:
    """What a module imports, relative names resolved; True where only on demand."""
    is_package = (TOP / module.replace(".", "/")).is_dir()
    package = module if is_package else module.rpartition(".")[0]

    def walk(node: ast.AST, on_demand: bool) -> Iterator[tuple[str, bool]]:
        if isinstance(node, ast.Import):
            yield from ((alias.name, on_demand) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package.split(".")[: len(package.split(".")) - node.level + 1]
            base = ".".join([*(above if node.level else []), *filter(None, [node.module])])
            yield from ((f"{base}.{alias.name}", on_demand) for alias in node.names)
        later = isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) or (
            isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        )
        for child in ast.iter_child_nodes(node):
            if isinstance(child, ast.stmt | ast.excepthandler | ast.match_case):
                yield from walk(child, on_demand or later)

    yield from walk(ast.parse(source), False)


def dependencies(sources: Mapping[str, str]) -> dict[str, set[str]]:
    """Module -> those of ``sources`` it names in any import."""
    found: dict[str, set[str]] = {}
    for module, source in sources.items():
        named = {name for name, _ in imports(module, source)}
        whole = {n if n in sources else n.rpartition(".")[0] for n in named}
        found[module] = {n for n in whole if n in sources and n != module}
    return found
