"""``slow.txt`` names what there is, and leaves something of every package to ``--fast``."""

from __future__ import annotations

from pathlib import Path

from tests.fast_part import LISTED, TESTS, takes_long
from tests.import_graph import TOP, dependencies, modules


def test_each_name_is_there_once() -> None:
    assert list(LISTED) == sorted(set(LISTED))
    assert [name for name in LISTED if not (TESTS / name).exists()] == []
    above = {name: Path(name).parents for name in LISTED}
    assert [name for name in LISTED if any(takes_long(TESTS / p) for p in above[name])] == []


def test_every_package_is_imported_by_a_test_that_is_left() -> None:
    sources = modules("livecheck") | modules("tests")
    reached: set[str] = set()
    for module, named in dependencies(sources).items():
        file = TOP / f"{module.replace('.', '/')}.py"
        if file.name.startswith("test_") and not takes_long(file):
            reached |= {".".join(one.split(".")[:2]) for one in named}
    folders = (path.parent for path in (TOP / "livecheck").glob("*/__init__.py"))
    assert {f"livecheck.{folder.name}" for folder in folders} - reached == set()
