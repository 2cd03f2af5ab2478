"""The page that explains the records of a case folder to those who write a program for them."""

from __future__ import annotations

from typing import Any, Final

import msgspec

from livecheck import record_format, release
from livecheck.wording import text

EXAMPLE: Final = {
    "case.json": """{
 "id": "2026-05-04-B12",
 "opened": "2026-05-04T08:30:00Z",
 "complaint": "slow",
 "schema": 2
}""",
    "runs/0001/run.json": """{
 "number": 1,
 "started": "2026-05-04T08:31:00Z",
 "complaint": "slow",
 "inventory": {
  "controllers": [
   {"id": "sata", "kind": "sata-controller", "name": "SATA controller"}
  ],
  "places": [
   {"id": "bay-1", "kind": "sata-port", "name": "drive bay", "controller": "sata"}
  ],
  "parts": [
   {"id": "drive:QX-4471", "kind": "drive", "name": "drive", "place": "bay-1",
    "identity": "serial:QX-4471"}
  ]
 },
 "readings": [
  {"check": "storage.medium-errors", "at": "drive:QX-4471", "outcome": "failed",
   "says": "The drive gave up on 12 sectors."}
 ],
 "schema": 2
}""",
}
"""A whole case folder, as small as it may be; a test has it judged."""


class FieldRow(msgspec.Struct, frozen=True, kw_only=True):
    """One field of a record."""

    name: str
    type: str
    required: bool
    default: str
    meaning: str


class RecordTable(msgspec.Struct, frozen=True, kw_only=True):
    """One kind of record."""

    name: str
    meaning: str
    words: tuple[str, ...]
    """Of a record that is one of several words."""
    fields: tuple[FieldRow, ...]


def record_format_page() -> str:
    """The page as HTML text."""
    from livecheck.report import page_environment

    page = page_environment("livecheck.report").get_template("record-format.html")
    return page.render(
        files={file: kind.__name__ for file, kind in record_format.FILES.items()},
        example=EXAMPLE,
        tables=[_table(name, one) for name, one in record_format.definitions().items()],
        version=release.told(),
    )


def _table(name: str, schema: dict[str, Any]) -> RecordTable:
    required = schema.get("required", ())
    fields = schema.get("properties", {})
    return RecordTable(
        name=name,
        meaning=" ".join(schema.get("description", "").replace("``", "").split()),
        words=tuple(schema.get("enum", ())),
        fields=tuple(
            FieldRow(
                name=field,
                type=_type(told),
                required=field in required,
                default=_default(told),
                meaning=told.get("description", ""),
            )
            for field, told in fields.items()
        ),
    )


def _type(schema: dict[str, Any]) -> str:
    """A type in words."""
    if "$ref" in schema:
        return str(schema["$ref"]).rpartition("/")[2]
    if "anyOf" in schema:
        return text("record-format.or").join(map(_type, schema["anyOf"]))
    if "enum" in schema:
        return text("record-format.or").join(f'"{word}"' for word in schema["enum"])
    if "const" in schema:
        return str(schema["const"])
    if "prefixItems" in schema:
        return text("record-format.row", types=", ".join(map(_type, schema["prefixItems"])))
    if schema.get("type") == "array":
        return text("record-format.list", type=_type(schema["items"]))
    if "additionalProperties" in schema:
        return text("record-format.map", type=_type(schema["additionalProperties"]))
    return str(schema.get("type", text("record-format.any")))


def _default(schema: dict[str, Any]) -> str:
    """A default as JSON has it; a record's own is told by its table."""
    if "default" not in schema or isinstance(schema["default"], dict):
        return ""
    return msgspec.json.encode(schema["default"]).decode()
