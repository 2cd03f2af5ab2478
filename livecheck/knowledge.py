"""The one loader of the tables in shared/: checks, components, bench, model, cautions.

The wheel carries the tables as ``livecheck.shared``. A shop may keep some of its own
on the shop drive (``SHOP_TABLES``); they override single figures, and a broken one is
refused with its line and reason while the built-in table is used.
"""

from __future__ import annotations

import math
import tomllib
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, Final

import msgspec

from livecheck import guarded, wording
from livecheck.diagnosis.worksheet_table import Worksheet
from livecheck.guided.rows import GuidedTable
from livecheck.records import (
    BenchTable,
    Blame,
    Caution,
    Check,
    DamagedRecord,
    IntakeRow,
    Kind,
    Knowledge,
    ModelParameters,
)
from livecheck.records.tables import BUILT_IN, HISTORY, KERNEL, MEDIUM
from livecheck.records.windows_events import WindowsEvent
from livecheck.topology.blame import who
from livecheck.topology.ids import SOFTWARE

KINDS: Final = "components.toml"
BENCH: Final = "bench.toml"
MODEL: Final = "model.toml"
SHOP_TABLES: Final = (BENCH, MODEL, KINDS)
"""What a shop may keep on its drive; covers come before the kinds that lie behind them."""
SAY: Final = "say."


class BrokenTable(Exception):
    """A table that cannot be used; says where and why."""


def load() -> Knowledge:
    """The built-in tables. Raises BrokenTable, which a test keeps from ever happening."""
    model = _row(ModelParameters, _builtin(MODEL), MODEL)
    checks = _rows(Check, _builtin("checks.toml"), "checks.toml", "name")
    found = Knowledge(
        checks=checks | history_checks(checks, model),
        kinds=_kinds(_builtin(KINDS), KINDS),
        cautions=_rows(Caution, _builtin("cautions.toml"), "cautions.toml", "name"),
        bench=_row(BenchTable, _builtin(BENCH), BENCH),
        model=model,
        sentences=sentences(),
        intake=_rows(IntakeRow, _builtin("intake.toml"), "intake.toml", "about"),
    )
    _check_links(found, KINDS)
    return found


def history_checks(checks: dict[str, Check], model: ModelParameters) -> dict[str, Check]:
    """A check of the installed system's log for each of the stick's own.

    The same components could cause it, and that system's drivers and settings besides, which
    make no drive say that it cannot read; it ran for months, so that more false alarms are in
    its log; and its silence says nothing.
    """
    blame = Blame(
        who=SOFTWARE, detect=model.inside_software.value, source=model.inside_software.source
    )
    rare = 1.0 - model.inside_false_alarms.value
    in_the_log = wording.catalogue()["log.question"]
    return {
        name.replace(KERNEL, HISTORY, 1): msgspec.structs.replace(
            check,
            name=name.replace(KERNEL, HISTORY, 1),
            question=in_the_log.format(question=check.question),
            false_alarm=1.0 - rare * (1.0 - check.false_alarm),
            false_alarm_source=f"{check.false_alarm_source}; {model.inside_false_alarms.source}",
            blames=(
                *(row for row in check.blames if who(row).role != SOFTWARE),
                *(() if check.symptom_group == MEDIUM else (blame,)),
            ),
            direct=False,
        )
        for name, check in checks.items()
        if name.startswith(KERNEL)
    }


def sentences() -> dict[str, str]:
    """What verdicts and steps are told with: the part of the catalogue below ``[say]``."""
    known = wording.catalogue()
    return {key[len(SAY) :]: said for key, said in known.items() if key.startswith(SAY)}


def found_in(language: str) -> dict[str, str]:
    """English templates of what is found, and the same in a language."""
    return _builtin(f"found.{language}.toml")


def worksheet() -> Worksheet:
    """The bench worksheet. Raises BrokenTable, which a test keeps from ever happening."""
    sheet: Worksheet = _row(Worksheet, _builtin("worksheet.toml"), "worksheet.toml")
    return sheet


def windows_events() -> dict[str, WindowsEvent]:
    """What events of a Windows log mean. Raises BrokenTable, which a test keeps from happening."""
    return _rows(WindowsEvent, _builtin("windows.toml"), "windows.toml", "name")


def guided() -> GuidedTable:
    """The guided checks. Raises BrokenTable, which a test keeps from ever happening."""
    table: GuidedTable = _row(GuidedTable, _builtin("guided.toml"), "guided.toml")
    return table


def with_shop_file(knowledge: Knowledge, path: Path) -> Knowledge:
    """The tables with a shop's own figures over them: one of ``SHOP_TABLES``.

    Raises BrokenTable for a file that is not TOML, names an unknown row or field,
    or holds a figure out of range; OSError when it cannot be read.
    """
    where = str(path)
    try:
        changes = guarded.toml(path)
    except DamagedRecord as error:
        raise BrokenTable(f"{where} is {error}") from error
    tables: dict[str, Any] = {}
    if path.name == BENCH:
        merged = _overlay(msgspec.to_builtins(knowledge.bench), changes, 2)
        tables["bench"] = _row(BenchTable, merged, where)
    elif path.name == MODEL:
        merged = _overlay(msgspec.to_builtins(knowledge.model), changes, 1)
        model = _row(ModelParameters, merged, where)
        tables["model"] = model
        tables["checks"] = knowledge.checks | history_checks(knowledge.checks, model)
    else:
        rows = {name: msgspec.to_builtins(kind) for name, kind in knowledge.kinds.items()}
        unknown = changes.keys() - rows.keys()
        if unknown:
            raise BrokenTable(f"{where}: [{min(unknown)}] is no kind of component (see {KINDS})")
        tables["kinds"] = _kinds(_overlay(rows, changes, 1), where)
    found = msgspec.structs.replace(knowledge, **tables)
    _check_links(found, where)
    own = where if knowledge.origin == BUILT_IN else f"{knowledge.origin}, {where}"
    return msgspec.structs.replace(found, origin=own)


def _overlay(base: dict[str, Any], changes: dict[str, Any], depth: int) -> dict[str, Any]:
    """``changes`` over ``base``, ``depth`` levels of tables merged; below, the change stands."""
    merged = base | changes
    for key, change in changes.items():
        own = base.get(key)
        if depth and isinstance(own, dict) and isinstance(change, dict):
            merged[key] = _overlay(own, change, depth - 1)
    return merged


@cache
def _builtin(name: str) -> dict[str, Any]:
    return _parse(resources.files("livecheck.shared").joinpath(name).read_text("utf-8"), name)


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


def _rows(kind: type[Any], table: dict[str, Any], where: str, name: str) -> dict[str, Any]:
    """Rows of a table; ``name`` is the field that holds a row's own name."""
    found: dict[str, Any] = {}
    for own, fields in table.items():
        if not isinstance(fields, dict):
            raise BrokenTable(f"{where}: {own} is {fields!r}, not a table of figures; see [{own}]")
        found[own] = _row(kind, {name: own, **fields}, f"{where}: [{own}]")
    return found


def _kinds(table: dict[str, Any], where: str) -> dict[str, Kind]:
    kinds: dict[str, Kind] = _rows(Kind, table, where, "kind")
    for own, kind in kinds.items():
        if kind.modes and not math.isclose(sum(kind.modes.values()), 1.0, abs_tol=1e-6):
            raise BrokenTable(f"{where}: [{own}] modes are shares; they must sum to 1")
    return kinds


def _check_links(knowledge: Knowledge, where: str) -> None:
    """What one row names of another must exist."""
    for own, kind in knowledge.kinds.items():
        if kind.unit not in knowledge.kinds:
            raise BrokenTable(f"{where}: [{own}] unit {kind.unit!r} is no kind of component")
        for cover in set(kind.behind) - knowledge.bench.covers.keys():
            raise BrokenTable(f"{where}: [{own}] lies behind {cover!r}, which {BENCH} lacks")
