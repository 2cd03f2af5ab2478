"""The tables of the report: readings by component, what was not tested, who the machine is."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from livecheck import release
from livecheck.found_words import reworded
from livecheck.languages import ENGLISH, spoken
from livecheck.names import Named, Names
from livecheck.records import Knowledge, Machine, Outcome, Reading, Run, Value
from livecheck.report.tree import fitted
from livecheck.wording import count, moment, numbers, quantity, question, size, text, title


class ReadingRow(msgspec.Struct, frozen=True, kw_only=True):
    """One reading, or the same reading of several runs."""

    question: str
    check: str
    value: str
    share: float | None
    """0 to 1, for a reading in percent: drawn as a meter beside its figure."""
    outcome: Outcome
    says: str
    runs: str
    source: str
    conditions: tuple[str, ...]
    details: tuple[str, ...]


class ComponentReadings(msgspec.Struct, frozen=True, kw_only=True):
    """All readings at one component, failed ones first."""

    component: Named
    lines: tuple[ReadingRow, ...]
    failed: bool


class Missed(msgspec.Struct, frozen=True, kw_only=True):
    """What was not tested at one place for one reason."""

    what: tuple[str, ...]
    at: Named | None
    why: str
    runs: str


class PartRow(msgspec.Struct, frozen=True, kw_only=True):
    """One part of the case, fitted in one run or more."""

    component: Named
    maker: str | None
    model: str | None
    serial: str | None
    firmware: str | None
    identity: str | None
    place: str
    runs: str
    good: bool


class RunRow(msgspec.Struct, frozen=True, kw_only=True):
    """How one run was made."""

    number: int
    started: str
    complaint: str
    depth: str
    seconds: str
    rights: str
    made_by: str
    """Which program on which kernel."""
    notes: tuple[str, ...]


def readings(
    runs: Sequence[Run], names: Names, knowledge: Knowledge
) -> tuple[ComponentReadings, ...]:
    """Judged and plain readings by component; components with a failed one come first."""
    merged: dict[str, dict[tuple[object, ...], list[tuple[int, Reading]]]] = {}
    for run in runs:
        for reading in run.readings:
            if reading.outcome is Outcome.NOT_JUDGED and reading.value is None:
                continue
            key = (reading.check, reading.device, reading.outcome, reading.value, reading.unit,
                   reading.says, reading.conditions)  # fmt: skip
            merged.setdefault(reading.at, {}).setdefault(key, []).append((run.number, reading))
    groups = []
    for at, rows in merged.items():
        lines = [_line(found, knowledge) for found in rows.values()]
        lines.sort(key=lambda line: line.outcome is not Outcome.FAILED)
        failed = any(line.outcome is Outcome.FAILED for line in lines)
        groups.append(ComponentReadings(component=names.of(at), lines=tuple(lines), failed=failed))
    return tuple(sorted(groups, key=lambda group: not group.failed))


def _line(found: Sequence[tuple[int, Reading]], knowledge: Knowledge) -> ReadingRow:
    reading = found[-1][1]
    details = dict.fromkeys(detail for _, r in found for detail in r.details)
    return ReadingRow(
        question=question(reading.check, knowledge),
        check=reading.check,
        value="" if reading.value is None else reworded(quantity(reading.value, reading.unit)),
        share=_share(reading.value, reading.unit),
        outcome=reading.outcome,
        says=reading.says or reading.why_not or "",
        runs=numbers(number for number, _ in found),
        source=reading.source,
        conditions=reading.conditions,
        details=tuple(details),
    )


def _share(value: Value, unit: str | None) -> float | None:
    if unit not in ("%", "percent") or isinstance(value, bool | str) or value is None:
        return None
    return value / 100 if 0 <= value <= 100 else None


def not_tested(runs: Sequence[Run], names: Names, knowledge: Knowledge) -> tuple[Missed, ...]:
    """Checks not made, readings not judged, probes that did not end, gaps of the inventory."""
    merged: dict[tuple[str, str | None, str], list[int]] = {}

    def miss(what: str, at: str | None, why: str, run: Run) -> None:
        merged.setdefault((what, at, why), []).append(run.number)

    for run in runs:
        for missed in run.not_tested:
            miss(missed.what, missed.at, missed.why, run)
        for reading in run.readings:
            if reading.outcome is Outcome.NOT_JUDGED and reading.value is None:
                why = reading.why_not or reading.says or text("not-tested.no-reason")
                miss(question(reading.check, knowledge), reading.at, why, run)
        for probe in run.probes:
            if probe.ended != "done":
                miss(text("not-tested.probe", probe=probe.probe), None,
                     probe.says or probe.ended, run)  # fmt: skip
        for gap in run.inventory.gaps:
            miss(text("not-tested.enumeration"), None, gap, run)
        if not run.finished:
            cut, stopped = text("not-tested.unfinished"), text("not-tested.stopped")
            miss(text("not-tested.rest"), None, stopped if run.stopped else cut, run)
    alike: dict[tuple[str | None, str, str], list[str]] = {}
    for (what, at, why), found in merged.items():
        alike.setdefault((at, why, numbers(found)), []).append(what)
    return tuple(
        Missed(what=tuple(what), at=names.of(at) if at else None, why=why, runs=runs_told)
        for (at, why, runs_told), what in alike.items()
    )


def identity(machine: Machine) -> tuple[tuple[str, tuple[tuple[str, str | None], ...]], ...]:
    """The machine's and its board's own words about themselves, as (heading, rows)."""
    memory = machine.installed_memory_bytes
    return (
        (text("identity.machine"), (
            (text("identity.vendor"), machine.vendor),
            (text("identity.product"), machine.product),
            (text("identity.version"), machine.version),
            (text("identity.serial"), machine.serial),
            (text("identity.uuid"), machine.uuid),
            (text("identity.chassis"), machine.chassis and reworded(machine.chassis)),
            (text("identity.processor"), machine.processor),
            (text("identity.memory"), None if memory is None else size(memory, binary=True)),
        )),
        (text("identity.board"), (
            (text("identity.vendor"), machine.board_vendor),
            (text("identity.product"), machine.board_product),
            (text("identity.version"), machine.board_version),
            (text("identity.serial"), machine.board_serial),
            (text("identity.firmware"), _joined(machine.firmware_vendor, machine.firmware_version)),
            (text("identity.firmware-date"), machine.firmware_date),
        )),
    )  # fmt: skip


def _joined(*words: str | None) -> str | None:
    return " ".join(word for word in words if word) or None


def parts(runs: Sequence[Run], names: Names) -> tuple[PartRow, ...]:
    """Every part and where it sat, one row for each stay in a place."""
    stays: dict[tuple[str, str], list[Run]] = {}
    for run in runs:
        for part, _ in fitted(run.inventory):
            stays.setdefault((part.id, part.place), []).append(run)
    rows = []
    for (component, at), found in stays.items():
        run = found[-1]
        part = next(p for p in run.inventory.parts if p.id == component)
        place = next((p.name for p in run.inventory.places if p.id == at), at)
        if run.in_known_good_machine:
            place = text("identity.elsewhere", place=place)
        rows.append(
            PartRow(
                component=names.of(component),
                maker=part.vendor,
                model=part.model,
                serial=part.serial,
                firmware=part.firmware,
                identity=part.identity,
                place=place,
                runs=numbers(r.number for r in found),
                good=any(part.identity in r.known_good for r in found if part.identity),
            )
        )
    return tuple(rows)


def run_row(run: Run, names: Names) -> RunRow:
    """How a run was made, in words."""
    notes, unknown = [], text("value.unknown")
    if run.in_known_good_machine:
        notes.append(text("run.elsewhere"))
    if not run.finished:
        notes.append(text("run.stopped") if run.stopped else text("run.unfinished"))
    if run.reseated:
        places = ", ".join(names.of(place).label for place in run.reseated)
        notes.append(text("run.reseated", places=places))
    if run.known_good:
        notes.append(
            count(
                "run.known-good",
                len(run.known_good),
                parts=", ".join(map(reworded, run.known_good)),
            )
        )
    program = release.told(run.program or unknown)
    return RunRow(
        number=run.number,
        started=moment(run.started),
        complaint=title(run.complaint),
        depth=run.depth if spoken() == ENGLISH else text(f"running.depth-{run.depth}"),
        seconds=quantity(run.seconds, "s"),
        rights=text("run.root" if run.as_root else "run.user"),
        made_by=text("run.made-by", program=program, kernel=run.kernel or unknown),
        notes=tuple(notes),
    )
