"""The report's section on drives: one sentence each for the customer, then the figures.

Only readings decide what is said here; whose fault it is stands in the verdict.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec
from markupsafe import Markup

from livecheck.found_words import reworded
from livecheck.names import Named, Names
from livecheck.records import BadRange, Outcome, Part, ReadFigures, Reading, Run
from livecheck.report import storage_svg
from livecheck.wording import count, quantity, size, text, title

KINDS: Final = ("drive", "optical-drive", "sd-card")

MEDIUM: Final = frozenset(
    {
        "storage.health",
        "storage.medium-errors",
        "storage.medium-lost",
        "storage.self-test",
        "storage.self-test-log",
    }
    | {"storage.read-errors", "kernel.storage-medium", "storage.disc-read"}
)
ON_THE_WAY: Final = frozenset(
    {"storage.link-errors", "storage.link-change", "storage.link-slowed", "storage.link-speed"}
    | {"kernel.storage-link", "kernel.storage-host-bus", "storage.link-errors-hot"}
    | {"pcie.errors", "pcie.link-speed", "pcie.link-width", "usb.link-speed", "kernel.pcie"}
)
SLOW: Final = frozenset({"storage.read-stalls", "storage.read-slow", "kernel.storage-timeout"})

FIGURES: Final = (
    ("storage.health", "storage.health"),
    ("storage.medium-errors", "storage.medium-errors"),
    ("storage.self-test", "storage.self-test"),
    ("storage.wear", "storage.wear"),
    ("storage.temperature", "storage.temperature"),
    ("storage.link-speed", "storage.link-speed"),
    ("storage.link-errors", "storage.link-errors"),
    ("storage.link-change", "storage.link-change"),
    ("storage.read-errors", "storage.unreadable"),
    ("storage.read-stalls", "storage.late"),
)
"""Readings whose value is a figure of the table, and the word for it in the catalogue."""

MAX_RANGES: Final = 20


class FigureRow(msgspec.Struct, frozen=True, kw_only=True):
    """One figure."""

    label: str
    value: str
    outcome: Outcome | None = None


class BadPlace(msgspec.Struct, frozen=True, kw_only=True):
    """One stretch that could not be read, in words."""

    at: str
    size: str
    what: str


class Drive(msgspec.Struct, frozen=True, kw_only=True):
    """One drive as the section shows it."""

    component: Named
    where: str
    run: int
    """The run the figures are of: the last one the drive was in."""
    sentence: str
    tone: str
    """``bad``, ``path``, ``fine`` or ``open``: the sentence's sign, never its only one."""
    rows: tuple[FigureRow, ...]
    failed: bool
    """Whether any reading at it failed."""
    span: Markup | None
    histogram: Markup | None
    places: tuple[BadPlace, ...]
    more_places: int


def drives(runs: Sequence[Run], names: Names) -> tuple[Drive, ...]:
    """Every drive of the case, those with failed readings first."""
    latest: dict[str, tuple[Run, Part]] = {}
    for run in runs:
        for part in run.inventory.parts:
            if part.kind in KINDS:
                latest[part.id] = (run, part)
    found = [_drive(part, run, names) for run, part in latest.values()]
    return tuple(sorted(found, key=lambda one: not one.failed))


def _drive(part: Part, run: Run, names: Names) -> Drive:
    readings = [r for r in run.readings if r.at == part.id]
    failed = [r for r in readings if r.outcome is Outcome.FAILED]
    figures = _figures(readings)
    tone, key = _tone(part, readings, failed, figures)
    bad = sorted(figures.bad, key=lambda one: one.offset) if figures else []
    read = size(figures.bytes) if figures and figures.bytes else None
    return Drive(
        component=names.of(part.id),
        where=names.of(part.place).label,
        run=run.number,
        sentence=text(key, read=read or ""),
        tone=tone,
        rows=tuple(_rows(part, readings, figures)),
        failed=bool(failed),
        span=storage_svg.span(figures) if figures else None,
        histogram=storage_svg.histogram(figures) if figures else None,
        places=tuple(_place(one) for one in bad[:MAX_RANGES]),
        more_places=max(0, len(bad) - MAX_RANGES),
    )


def _figures(readings: Sequence[Reading]) -> ReadFigures | None:
    """Of the read test; the reading of its errors comes last, since it may list places alone."""
    by_check = {r.check: r for r in readings}
    wanted = ("storage.read-slow", "storage.disc-read", "storage.read-errors")
    found = (by_check[name].figures for name in wanted if name in by_check)
    return next((figures for figures in found if figures is not None), None)


def _tone(
    part: Part, readings: Sequence[Reading], failed: Sequence[Reading], figures: ReadFigures | None
) -> tuple[str, str]:
    """The sentence's tone and its key in the catalogue; the gravest finding speaks."""
    checks = {r.check for r in failed}
    if any(r.check == "storage.read-errors" and r.value == "disappeared" for r in failed):
        return "bad", "storage.vanished"
    if checks & {"storage.answers"}:
        return "bad", "storage.dead"
    if checks & MEDIUM:
        both = bool(checks & ON_THE_WAY)
        disc = part.kind == "optical-drive"
        return "bad", (
            "storage.disc" if disc else "storage.medium-and-way" if both else "storage.medium"
        )
    if checks & ON_THE_WAY:
        return "path", "storage.way"
    if checks & SLOW:
        return "bad", "storage.slow"
    if "storage.wear" in checks:
        return "bad", "storage.worn"
    if checks:
        return "bad", "storage.other"
    judged = [r for r in readings if r.outcome is Outcome.PASSED]
    if figures is not None and figures.bytes:
        return "fine", "storage.fine-read"
    return ("fine", "storage.fine") if judged else ("open", "storage.untested")


def _rows(part: Part, readings: Sequence[Reading], figures: ReadFigures | None) -> list[FigureRow]:
    rows = []
    if part.size_bytes:
        rows.append(FigureRow(label=text("storage.capacity"), value=size(part.size_bytes)))
    by_check = {r.check: r for r in readings}
    for check, word in FIGURES:
        reading = by_check.get(check)
        if reading is not None and reading.value is not None:
            value = reworded(quantity(reading.value, reading.unit))
            # A value that only repeats the outcome is said once.
            told = None if value == title(reading.outcome) else reading.outcome
            rows.append(FigureRow(label=text(word), value=value, outcome=told))
    if figures is not None and figures.requests:
        rows.append(FigureRow(label=text("storage.read"), value=size(figures.bytes)))
        if figures.bytes_per_second:
            speed = f"{size(figures.bytes_per_second)}/s"
            rows.append(FigureRow(label=text("storage.speed"), value=speed))
        for share, ms in figures.percentiles:
            label = text("storage.within", share=f"{share:g}")
            rows.append(FigureRow(label=label, value=storage_svg.milliseconds(ms)))
    return rows


def _place(bad: BadRange) -> BadPlace:
    if bad.recovered:
        what = text("storage.came-late", tries=bad.tries)
    elif bad.exact:
        what = count("storage.tried", bad.tries)
    else:
        what = text("storage.broken-off")
    return BadPlace(
        at=f"{bad.offset:,}".replace(",", "\u00a0"), size=size(bad.bytes, True), what=what
    )
