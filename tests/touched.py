"""Test modules that a change can touch, by the imports: ``python -m tests.touched [REVISION]``.

The change is what differs from REVISION, by default from where this branch left
``main``, files that git does not know yet included. A file that is no module counts for
the modules that name it, else for the package it lies in. Nothing is said of what a
test reaches by another way: a program it starts, a table that a function reads.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Final

from tests.import_graph import TOP, dependencies, module_name, modules, within

ALWAYS: Final = ("tests/test_linters.py", "tests/test_imports.py", "tests/test_structure.py")
"""They read every source, without importing it."""


def changed(revision: str | None) -> set[str]:
    """Paths that differ from a revision. Raises CalledProcessError where git refuses."""
    since = revision or _branched()
    return {*_git("diff", "--name-only", since), *_git("ls-files", "-o", "--exclude-standard")}


def _branched() -> str:
    """Where this branch left ``main``; a clone of another branch has only the server's."""
    known = _git("for-each-ref", "--format=%(refname:short)", "refs/heads", "refs/remotes")
    main = next((name for name in ("main", "origin/main") if name in known), "HEAD")
    return _git("merge-base", "HEAD", main)[0]


def _git(*words: str) -> list[str]:
    done = subprocess.run(["git", *words], cwd=TOP, check=True, stdout=subprocess.PIPE, text=True)
    return done.stdout.splitlines()


def touched(paths: Iterable[str], sources: Mapping[str, str]) -> set[str]:
    """Modules of ``sources`` that one of the paths is, or that lead to one by imports."""
    users: dict[str, set[str]] = {}
    for module, imported in dependencies(sources).items():
        needed = imported | spelled(sources[module]) & sources.keys()
        parts = module.split(".")
        # Importing a module runs the packages it lies in.
        above = {".".join(parts[:n]) for n in range(1, len(parts))} & sources.keys()
        for one in needed | above:
            users.setdefault(one, set()).add(module)
    found: set[str] = set()
    todo = [module for path in paths for module in meant(path, sources)]
    while todo:
        module = todo.pop()
        if module not in found:
            found.add(module)
            todo += users.get(module, ())
    return found


def spelled(source: str) -> set[str]:
    """Modules that a source names in a text of their own, as the list of probes does."""
    return set(re.findall(r"[\"']((?:livecheck|tests)(?:\.\w+)+)(?::\w+)?[\"']", source))


def meant(path: str, sources: Mapping[str, str]) -> set[str]:
    """Modules that a changed file is, or belongs to."""
    own = Path(path)
    if own.suffix == ".py" and own.name != "conftest.py":
        return {module_name(own)} & sources.keys()
    naming = {module for module, text in sources.items() if own.name in text}
    folders = (".".join(folder.parts) for folder in own.parents)
    inside = ({m for m in sources if within(m, folder)} for folder in folders if folder)
    return naming or next(filter(None, inside), set())


def holding_tests(found: Iterable[str]) -> list[str]:
    """Paths of those that hold tests."""
    paths = (f"{module.replace('.', '/')}.py" for module in found)
    return sorted(path for path in paths if path.rpartition("/")[2].startswith("test_"))


def main(words: list[str]) -> None:
    """One path a line."""
    sources = {**modules("livecheck"), **modules("tests")}
    paths = changed(words[0] if words else None)
    print(*dict.fromkeys([*ALWAYS, *holding_tests(touched(paths, sources))]), sep="\n")


if __name__ == "__main__":
    main(sys.argv[1:])
