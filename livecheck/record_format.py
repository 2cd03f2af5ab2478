"""The format of records on disk, published: a JSON Schema made from the records themselves.

Another program that writes case folders to this schema is read like livecheck's own.
Meanings are the docstrings beside each field, so that they cannot drift from the code.
"""

from __future__ import annotations

import ast
import inspect
import json
import re
import sys
from collections.abc import Iterator
from itertools import pairwise
from textwrap import dedent
from typing import Any, Final

import msgspec

from livecheck.records import SCHEMA, Case, Proved, Record, Run, Summary

FILES: Final[dict[str, type[Record]]] = {
    "case.json": Case,
    "runs/0001/run.json": Run,
    "outcomes/0001/outcome.json": Proved,
    "summary.json": Summary,
}
"""File of a case folder -> the record in it."""
DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"

_JSON: Final = {"None": "null", "True": "true", "False": "false"}

Definitions = dict[str, dict[str, Any]]


def definitions() -> Definitions:
    """JSON Schema of every record that a case folder holds, by name, with meanings."""
    _, found = msgspec.json.schema_components(FILES.values(), ref_template="#/$defs/{name}")
    classes = {cls.__name__: cls for cls in _records(Record)}
    for name, schema in found.items():
        # A word of OpenAPI that JSON Schema does not know.
        _without(schema, "discriminator")
        if "description" in schema:
            # Python 3.13 takes the indentation of docstrings away by itself, 3.11 does not.
            schema["description"] = inspect.cleandoc(schema["description"])
        properties = schema.get("properties", {})
        for field, meaning in meanings(classes[name]) if name in classes else ():
            if field in properties:
                properties[field] = {"description": meaning, **properties[field]}
        if "schema" in properties:
            properties["schema"]["const"] = SCHEMA
    return dict(sorted(found.items()))


def document() -> dict[str, Any]:
    """The schema of all of them; each file is one of ``anyOf``."""
    return {
        "$schema": DIALECT,
        "title": f"livecheck records, schema {SCHEMA}",
        "description": "; ".join(f"{file}: {kind.__name__}" for file, kind in FILES.items()),
        "anyOf": [{"$ref": f"#/$defs/{kind.__name__}"} for kind in FILES.values()],
        "$defs": definitions(),
    }


def text() -> str:
    """The document as the file that is kept."""
    return json.dumps(document(), indent=1, ensure_ascii=False) + "\n"


def meanings(record: type[Record]) -> Iterator[tuple[str, str]]:
    """(Field, what its docstring says) of a record and of those it is made from."""
    for cls in reversed(record.__mro__):
        if cls.__module__.startswith("livecheck."):
            (body,) = ast.parse(dedent(inspect.getsource(cls))).body
            yield from _of_body(body.body if isinstance(body, ast.ClassDef) else [])


def _of_body(body: list[ast.stmt]) -> Iterator[tuple[str, str]]:
    for field, after in pairwise(body):
        if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name):
            told = after.value if isinstance(after, ast.Expr) else None
            if isinstance(told, ast.Constant) and isinstance(told.value, str):
                yield field.target.id, _as_json(told.value)


def _as_json(meaning: str) -> str:
    """A docstring in one line, with JSON's words for Python's."""
    words = " ".join(meaning.replace("``", "").split())
    return re.sub(r"\b(None|True|False)\b", lambda word: _JSON[word[1]], words)


def _records(base: type[Record]) -> Iterator[type[Record]]:
    """All records of the room that keeps what is saved."""
    for cls in base.__subclasses__():
        if cls.__module__.startswith("livecheck.records.") and cls.__module__ in sys.modules:
            yield cls
        yield from _records(cls)


def _without(schema: Any, word: str) -> None:
    if isinstance(schema, dict):
        schema.pop(word, None)
        for inner in schema.values():
            _without(inner, word)
    elif isinstance(schema, list):
        for inner in schema:
            _without(inner, word)
