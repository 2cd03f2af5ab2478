"""The one loader of the tables in shared/: checks, kinds of component, cautions.

The wheel carries the tables as ``livecheck.shared``. A shop may keep its own
``components.toml`` on the shop drive; it overrides single figures, and a broken
one is refused with its line and reason while the built-in table is used.
"""

from __future__ import annotations

import tomllib
from importlib import resources
from pathlib import Path
from typing import Any, Final

import msgspec

from livecheck import wording
from livecheck.diagnosis.worksheet import Sheet
from livecheck.guided.model import Table
from livecheck.records import Caution, Check, Kind, Knowledge

SAY: Final = "say."


class BrokenTable(Exception):
    """A table that cannot be used; says where and why."""


def load() -> Knowledge:
    """The built-in tables. Raises BrokenTable, which a test keeps from ever happening."""
    return Knowledge(
        checks=_checks(_builtin("checks.toml"), "checks.toml"),
        kinds=_kinds(_builtin("components.toml"), "components.toml"),
        cautions=_cautions(_builtin("cautions.toml"), "cautions.toml"),
        sentences=sentences(),
    )


def sentences() -> dict[str, str]:
    """What verdicts and steps are told with: the part of the catalogue below ``[say]``."""
    known = wording.catalogue()
    return {key[len(SAY) :]: said for key, said in known.items() if key.startswith(SAY)}


def worksheet() -> Sheet:
    """The bench worksheet. Raises BrokenTable, which a test keeps from ever happening."""
    sheet: Sheet = _row(
        Sheet, _parse(_builtin("worksheet.toml"), "worksheet.toml"), "worksheet.toml"
    )
    return sheet


def guided() -> Table:
    """The guided checks. Raises BrokenTable, which a test keeps from ever happening."""
    table: Table = _row(Table, _parse(_builtin("guided.toml"), "guided.toml"), "guided.toml")
    return table


def with_shop_file(knowledge: Knowledge, path: Path) -> Knowledge:
    """The tables with a shop's own figures for kinds of component over them.

    Raises BrokenTable for a file that is not TOML, names an unknown kind or
    field, or holds a figure out of range; OSError when it cannot be read.
    """
    changes = _parse(path.read_text("utf-8"), str(path))
    merged = {name: msgspec.to_builtins(kind) for name, kind in knowledge.kinds.items()}
    for name, fields in changes.items():
        if name not in merged:
            raise BrokenTable(f"{path}: [{name}] is no kind of component (see components.toml)")
        unknown = set(fields) - set(Kind.__struct_fields__)
        if unknown:
            raise BrokenTable(f"{path}: [{name}] has no field {sorted(unknown)[0]!r}")
        merged[name].update(fields)
    kinds = {name: _row(Kind, fields, f"{path}: [{name}]") for name, fields in merged.items()}
    _check_kinds(kinds, str(path))
    return msgspec.structs.replace(knowledge, kinds=kinds, origin=str(path))


def _builtin(name: str) -> str:
    return resources.files("livecheck.shared").joinpath(name).read_text("utf-8")


def _parse(text: str, where: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BrokenTable(f"{where}: {error}") from error


def _row(kind: type[Any], fields: dict[str, Any], where: str) -> Any:
    try:
        return msgspec.convert(fields, kind, strict=False)
    except msgspec.ValidationError as error:
        raise BrokenTable(f"{where}: {error}") from error


def _checks(text: str, where: str) -> dict[str, Check]:
    rows: dict[str, Check] = {}
    for name, fields in _parse(text, where).items():
        check: Check = _row(Check, {"name": name, **fields}, f"{where}: [{name}]")
        for chance in (check.false_alarm, *(blame.detect for blame in check.blames)):
            if not 0 < chance < 1:
                raise BrokenTable(
                    f"{where}: [{name}] has a chance of {chance}; it must be in (0, 1)"
                )
        rows[name] = check
    return rows


def _kinds(text: str, where: str) -> dict[str, Kind]:
    kinds = {
        name: _row(Kind, {"kind": name, **fields}, f"{where}: [{name}]")
        for name, fields in _parse(text, where).items()
    }
    _check_kinds(kinds, where)
    return kinds


def _check_kinds(kinds: dict[str, Kind], where: str) -> None:
    for name, kind in kinds.items():
        if kind.weight <= 0:
            raise BrokenTable(f"{where}: [{name}] weight is {kind.weight}; it must be above 0")
        if kind.unit not in kinds:
            raise BrokenTable(f"{where}: [{name}] unit {kind.unit!r} is no kind of component")


def _cautions(text: str, where: str) -> dict[str, Caution]:
    return {
        name: _row(Caution, {"name": name, **fields}, f"{where}: [{name}]")
        for name, fields in _parse(text, where).items()
    }
