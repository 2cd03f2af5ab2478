"""What only topology may do: read whom a check blames, and know how an id is written.

Read from the sources; each search is shown a source that breaks the rule.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from typing import Final

import pytest

from tests.import_graph import imports, modules, within

MODULES: Final = modules("livecheck")

FLOW: Final = {
    "records": set[str](),
    "host": {"records"},
    "topology": {"records"},
    "diagnosis": {"records", "topology"},
    "displayport": {"host", "records"},
    "graphics": {"framed", "native"},
    "kernel_log": {"host", "records"},
    "inventory": {"host", "records", "topology"},
    "meters": {"host", "inventory", "records"},
    "probes": {"capture", "displayport", "framed", "graphics", "host", "inventory", "kernel_log",
               "meters", "native", "radio", "records", "thermal"},
    "names": {"languages", "records", "topology", "wording"},
    "learning": {"diagnosis", "records", "topology", "wording"},
    "report": {"chances", "completeness", "diagnosis", "found_words", "heed", "intake",
               "lamp_codes", "languages", "learning", "names", "offers", "partssheet",
               "record_format", "records", "release", "signing", "step_names", "suspects",
               "thermal", "topology", "way_on", "worded", "wording"},
}  # fmt: skip
"""Room -> rooms it may know; others (console, commands, saving) stand above all of these."""

MARKS: Final = ("@", "contact:", "bench/", "board ", " (repaired", " (seating")
"""Signs by which a text form of an id could be taken apart."""
APART: Final = {"partition", "rpartition", "split", "rsplit", "removeprefix", "removesuffix",
                "startswith", "endswith", "find", "index", "replace"}  # fmt: skip
WORDS: Final = "livecheck.records.answer_words"
"""It reads what a technician typed, an id or words, and looks the id up in the inventory."""


def against_the_flow(module: str, source: str) -> list[str]:
    """Imports of a room that it may not know."""
    room = module.split(".")[1] if "." in module else module
    if room not in FLOW:
        return []
    rooms = (name.split(".")[1] for name, _ in imports(module, source) if within(name, "livecheck"))
    return [other for other in rooms if other not in FLOW[room] | {room}]


def blame_read(source: str) -> Iterator[int]:
    """Lines that read ``Blame.who``."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Attribute) and node.attr == "who":
            yield node.lineno


def ids_taken_apart(source: str) -> Iterator[int]:
    """Lines that look into a text for a sign of an id."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            if node.func.attr in APART and any(map(_marked, node.args)):
                yield node.lineno
        elif isinstance(node, ast.Compare) and isinstance(node.ops[0], ast.In | ast.NotIn):
            looked_for = isinstance(node.left, ast.Constant) and _marked(node.left)
            yield from [node.lineno] if looked_for else []


def _marked(node: ast.AST) -> bool:
    texts = (part.value for part in ast.walk(node) if isinstance(part, ast.Constant))
    return any(isinstance(text, str) and text.startswith(MARKS) for text in texts)


@pytest.mark.parametrize("module", MODULES)
def test_data_goes_one_way(module: str) -> None:
    assert not against_the_flow(module, MODULES[module])


@pytest.mark.parametrize("module", [m for m in MODULES if not within(m, "livecheck.topology")])
def test_nobody_else_reads_whom_a_check_blames(module: str) -> None:
    assert not list(blame_read(MODULES[module]))


@pytest.mark.parametrize(
    "module", [m for m in MODULES if not within(m, "livecheck.topology", WORDS)]
)
def test_nobody_else_takes_an_id_apart(module: str) -> None:
    assert not list(ids_taken_apart(MODULES[module]))


def test_what_breaks_the_rules_is_seen() -> None:
    assert against_the_flow("livecheck.topology.ids", "from livecheck.diagnosis import locate")
    assert against_the_flow("livecheck.probes.usb", "def f():\n    import livecheck.names")
    assert not against_the_flow("livecheck.topology.ids", "from livecheck.records import Run")
    assert list(blame_read("for row in check.blames:\n    print(row.who)")) == [2]
    broken = (
        'kind = key.partition("@")[0]',
        'own.removeprefix("bench/")',
        'own.startswith(f"contact:{place}")',
        'own.split(" (repaired ")',
        'x = "@" in own',
    )
    assert [list(ids_taken_apart(line)) for line in broken] == [[1]] * len(broken)
    assert not list(ids_taken_apart('own = f"{kind}@{place}"\nwords.partition("=")'))
