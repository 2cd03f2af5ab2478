"""What is installed is what lies in the checkout: no folder and no file is left behind.

A package that pyproject.toml does not list is there in an editable installation and missing
in the wheel, which is what the stick's image installs.
"""

from __future__ import annotations

import fnmatch
import tomllib
from pathlib import Path
from typing import Any, Final

CHECKOUT: Final = Path(__file__).parents[1]
LEFT: Final = frozenset({".py", ".pyc", ".so"})
"""Endings of what needs no row of its own: modules, and what is built from sources."""


def _setuptools() -> dict[str, Any]:
    table: dict[str, Any] = tomllib.loads((CHECKOUT / "pyproject.toml").read_text("utf-8"))
    found: dict[str, Any] = table["tool"]["setuptools"]
    return found


def _folders() -> dict[str, Path]:
    modules = (CHECKOUT / "livecheck").rglob("*.py")
    folders = {module.parent for module in modules}
    own = {".".join(folder.relative_to(CHECKOUT).parts): folder for folder in folders}
    return own | {"livecheck.shared": CHECKOUT / "shared"}


def test_every_folder_with_modules_is_installed() -> None:
    assert _setuptools()["packages"] == sorted(_folders())


def test_man_pages_and_completions_are_installed() -> None:
    """Each file of the folder has one place below share/."""
    kept = {f"shared/manual/{file.name}" for file in (CHECKOUT / "shared" / "manual").iterdir()}
    listed = [
        str(file.relative_to(CHECKOUT))
        for patterns in _setuptools()["data-files"].values()
        for pattern in patterns
        for file in CHECKOUT.glob(pattern)
    ]
    assert sorted(listed) == sorted(kept)


def test_every_file_beside_the_modules_is_installed() -> None:
    """Templates, tables, captures and sources of the extension match a pattern of their package."""
    folders, data = _folders(), _setuptools()["package-data"]
    missing = []
    for file in [*(CHECKOUT / "livecheck").rglob("*"), *(CHECKOUT / "shared").rglob("*")]:
        if file.is_dir() or file.suffix in LEFT or {"__pycache__", "manual"} & set(file.parts):
            continue
        package, folder = max(
            (pair for pair in folders.items() if pair[1] in file.parents),
            key=lambda pair: len(pair[1].parts),
        )
        name = str(file.relative_to(folder))
        if not any(fnmatch.fnmatch(name, pattern) for pattern in data.get(package, ())):
            missing.append(f"{package}: {name}")
    assert missing == []
