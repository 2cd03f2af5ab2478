"""Nothing but the guarded reader and the atomic writer opens what is on the shop drive.

Looked for in the sources: every call by which Python opens, lists, copies, renames or removes
a file. Each module that has one is listed with what it opens, and none of that is on the drive.
"""

from __future__ import annotations

import ast
from pathlib import Path
from typing import Final

import pytest

import livecheck

PACKAGE: Final = Path(livecheck.__file__).parent
METHODS: Final = {
    *("read_bytes", "read_text", "write_bytes", "write_text", "iterdir", "glob", "rglob"),
    *("unlink", "rmdir", "touch", "symlink_to", "hardlink_to"),
}
MODULES: Final = {
    "os": {
        *("open", "scandir", "listdir", "rename", "replace", "unlink", "remove", "rmdir", "mkdir"),
        *("makedirs", "symlink", "link", "truncate", "utime", "walk"),
    },
    "shutil": {"copy", "copyfile", "copy2", "copytree", "move", "rmtree", "copyfileobj"},
    "io": {"open", "FileIO"},
    "tempfile": {"NamedTemporaryFile", "mkstemp", "mkdtemp", "TemporaryFile"},
    "sqlite3": {"connect"},
}
ALLOWED: Final = {
    "__main__.py": "the null device",
    "guarded.py": "the reader itself",
    "casefile/atomic.py": "the writer itself",
    "asking.py": "what the host reads: sysfs and procfs",
    "live_host.py": "devices, sysfs and procfs",
    "installed_log.py": "copies of its own in a folder of its own, thrown away afterwards",
    "listening.py": "the kernel's log",
    "native/": "procfs, shared memory",
    "guided/": "device nodes, sysfs",
    "partssheet/": "a table that comes with the program",
    "wording.py": "the catalogue that comes with the program",
    "knowledge.py": "tables that come with the program",
    "demo/": "captures that come with the program, and where a person wants a copy of them",
    "capture.py": "where a person wants a new capture",
    "judgement.py": "where a person wants the report",
    "saving.py": "where a run is kept that the drive refused",
    "commands/": "where a person wants a table or a page",
    "case_index/index.py": "the index in this computer's own cache",
    "case_index/shop.py": "the index in this computer's own cache",
    "log_stream.py": "a log that guarded opened, unpacked as it is read",
    "windows_log/worker.py": "a log that guarded opened",
    "recorder/file.py": "its own folder, once it is empty",
    "recorder/process.py": "the null device",
    "voice/": "the keyboard's lamps and the PC speaker",
    "probes/": "devices, sysfs; the null device",
}


def opens(source: str) -> set[str]:
    """Calls in a module that reach for a file by its path."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if not isinstance(node, ast.Call):
            continue
        called = node.func
        if isinstance(called, ast.Name) and called.id == "open":
            found.add("open")
        elif isinstance(called, ast.Attribute):
            owner = called.value.id if isinstance(called.value, ast.Name) else ""
            if called.attr in (MODULES[owner] if owner in MODULES else METHODS | {"open"}):
                found.add(f"{owner}.{called.attr}")
    return {call for call in found if not call.startswith(("atomic.", "guarded."))}


def _room(path: Path) -> str:
    inside = str(path.relative_to(PACKAGE))
    return next((room for room in ALLOWED if inside.startswith(room)), inside)


OPENING: Final = {
    path: calls for path in sorted(PACKAGE.rglob("*.py")) if (calls := opens(path.read_text()))
}


@pytest.mark.parametrize("path", OPENING, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_who_opens_files(path: Path) -> None:
    assert _room(path) in ALLOWED, f"{sorted(OPENING[path])}: read by livecheck.guarded instead"


def test_the_list_is_no_longer_than_it_must_be() -> None:
    assert {_room(path) for path in OPENING} == set(ALLOWED)


@pytest.mark.parametrize(
    "call", ["open(p)", "p.open()", "p.read_bytes()", "os.open(p, 0)", "os.scandir(p)",
             "shutil.copyfile(a, b)", "sqlite3.connect(p)", "folder.path.iterdir()"]
)  # fmt: skip
def test_what_is_looked_for_is_seen(call: str) -> None:
    assert opens(call)
    assert not opens("guarded.read(p); os.fsync(d); os.path.join(a, b); msgspec.json.decode(b)")
