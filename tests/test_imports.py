"""The rules of the house that imports and calls can show, read from the source itself.

Open flags: open(2) of the Linux man-pages.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "livecheck"
MODULES = sorted(PACKAGE.rglob("*.py"))
FRONT_DOORS = {"livecheck.cli"}
"""The only modules outside the console that may import it."""
HARDWARE_PATHS = ("/sys/", "/dev/", "/proc/")


def _name(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _imports(path: Path) -> Iterator[str]:
    package = _name(path) if path.name == "__init__.py" else _name(path).rpartition(".")[0]
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                base = ".".join([*package.split(".")[: len(package.split(".")) - node.level + 1],
                                 *filter(None, [base])])  # fmt: skip
            yield from (f"{base}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_who_may_import_whom(path: Path) -> None:
    """Diagnosis knows records only; nothing but the front door knows the console."""
    name = _name(path)
    for imported in _imports(path):
        if name.startswith("livecheck.diagnosis") and imported.startswith("livecheck"):
            allowed = ("livecheck.records", "livecheck.diagnosis")
            assert imported.startswith(allowed), f"{name} imports {imported}"
        if not name.startswith("livecheck.console") and name not in FRONT_DOORS:
            assert not imported.startswith("livecheck.console"), f"{name} imports {imported}"
        if not name.startswith(("livecheck.console", "livecheck.cli")):
            assert not imported.startswith("textual"), f"{name} imports {imported}"


def test_diagnosis_loads_nothing_else() -> None:
    """In a fresh interpreter: judging brings in no other room of the house."""
    code = (
        "import livecheck.diagnosis, sys; "
        "print(*(m for m in sys.modules if m.startswith('livecheck.')))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    rooms = {m.split(".")[1] for m in done.stdout.split()}
    assert rooms == {"diagnosis", "records"}


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_only_the_host_touches_hardware(path: Path) -> None:
    """No other module opens anything under /sys, /dev or /proc by name."""
    name = _name(path)
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        called = ast.unparse(node.func)
        if called in ("open", "os.open", "Path") and node.args:
            first = node.args[0]
            constant = first.value if isinstance(first, ast.Constant) else ""
            if isinstance(first, ast.JoinedStr) and first.values:
                head = first.values[0]
                constant = head.value if isinstance(head, ast.Constant) else ""
            hardware = isinstance(constant, str) and constant.startswith(HARDWARE_PATHS)
            assert not hardware or name in ("livecheck.host",), f"{name} opens {constant}"


WRITING = {"O_WRONLY", "O_RDWR", "O_CREAT", "O_TRUNC", "O_APPEND"}
MAY_WRITE_FILES = {"livecheck.casefile.atomic"}
"""Where records are saved; it is given paths of the shop drive only."""


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_no_code_path_opens_for_writing(path: Path) -> None:
    """os.open with a writing flag stands in one module, which is given shop-drive paths only."""
    name = _name(path)
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if not isinstance(node, ast.Call) or ast.unparse(node.func) != "os.open":
            continue
        flags = {n.attr for arg in node.args[1:] for n in ast.walk(arg)
                 if isinstance(n, ast.Attribute)}  # fmt: skip
        silent = "devnull" in ast.unparse(node.args[0])
        if flags & WRITING and not silent:
            assert name in MAY_WRITE_FILES, f"{name} opens with {sorted(flags & WRITING)}"
