"""The bench worksheet: a machine without power or picture, judged from measurements.

Such a machine cannot be booted, so livecheck runs on the shop's own computer:
``steps`` says what to measure, ``judge`` turns the answers into readings, and the
engine locates the fault from them as from any others. Steps, limits and words are data
(shared/worksheet.toml); the weight of each reading stands in shared/checks.toml.

Answers come from prompts or from a TOML file::

    [label]                  # as printed on the adapter
    volts = 19.5             # or the whole label: "5 V 3 A, 20 V 3.25 A"
    amps = 3.33              # or: watts = 65
    supply = "barrel"        # or: "usb-pd"; 5, 9, 15 or 20 V can be either

    [answers]
    adapter-open-voltage = 19.6
    jack-loose = "firm"
    button = "12k"           # as the meter shows it: "OL", "4R7", "1M2" too
    rail-resistance = "not measured: no time"
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

import msgspec

from livecheck.diagnosis import worksheet_words as words
from livecheck.diagnosis.worksheet_machine import WHERE
from livecheck.diagnosis.worksheet_table import (
    Above,
    Contradiction,
    Filled,
    Label,
    Measurement,
    MeasurementRule,
    Worksheet,
)
from livecheck.diagnosis.worksheet_words import BadAnswers
from livecheck.records import Complaint, Outcome, Reading

SKIPPED: Final = "not measured"
"""What an answer begins with when the step was left out; a reason may follow a colon."""

NEITHER: Final = "what was seen says nothing of it"
"""Why a look that was made judges one of its checks and not the other."""

Answers = Mapping[str, float | str]
"""Step name -> measured value in the step's unit, one of its choices, or ``not measured…``."""


def steps(
    complaint: Complaint, sheet: Worksheet, supply: str | None = None
) -> tuple[Measurement, ...]:
    """What to measure for a complaint, cheapest first; empty when it has no worksheet.

    ``supply``: the adapter's kind; None, as long as it was not told, asks what a round
    plug is asked.
    """
    return tuple(
        step
        for step in sheet.step
        if complaint.value in step.complaints
        and (not step.supplies or (supply or words.ROUND) in step.supplies)
    )


def cautions(step: Measurement, told: Iterable[str]) -> tuple[str, ...]:
    """Names of what to mind in a step; what was told at the counter first, where power comes in."""
    return tuple(dict.fromkeys((*(told if step.powers else ()), *step.cautions)))


def parse(text: str, sheet: Worksheet) -> Filled:
    """Read a TOML answers file. Raises BadAnswers, which says where and what is right."""
    try:
        given = tomllib.loads(text.removeprefix("\ufeff"))
    except (ValueError, RecursionError) as error:
        raise BadAnswers(f"not a TOML file: {error}") from error
    strange = set(given) - {"label", "answers"}
    if strange:
        raise BadAnswers(
            f"unknown table or name {sorted(strange)[0]!r} (a worksheet has [label] and [answers])"
        )
    answers = given.get("answers", {})
    if not isinstance(answers, dict):
        raise BadAnswers("answers is no table (write [answers] and one line a step)")
    label = words.label(given["label"], sheet) if "label" in given else None
    return Filled(
        answers={name: answer(name, value, sheet) for name, value in answers.items()},
        label=label,
        supply=words.supply_of(label, sheet),
    )


def answer(name: str, value: object, sheet: Worksheet) -> float | str:
    """One answer, checked against its step. Raises BadAnswers."""
    step = next((step for step in sheet.step if step.name == name), None)
    if step is None:
        names = ", ".join(step.name for step in sheet.step)
        raise BadAnswers(f"no step is called {name!r} (the steps are: {names})")
    if isinstance(value, str) and value.startswith(SKIPPED):
        return value
    if step.asks == "choice":
        if value not in step.choices:
            raise BadAnswers(f"{name}: {value!r} is none of {', '.join(step.choices)}")
        return str(value)
    if isinstance(value, str):
        try:
            value = words.read_figure(value, step)
        except BadAnswers as error:
            raise BadAnswers(f"{name}: {error}") from error
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadAnswers(f"{name}: {value!r} is no number (a value in {step.unit}, without it)")
    figure = words.as_float(value)
    if not step.least <= figure <= step.most:
        raise BadAnswers(
            f"{name}: {figure:g} {step.unit} cannot be "
            f"(between {step.least:g} and {step.most:g} {step.unit})"
        )
    return figure


def judge(answers: Answers, label: Label | None, sheet: Worksheet) -> tuple[Reading, ...]:
    """The readings of a filled-in worksheet, in the order of its steps.

    A step without an answer gives none; one left out on purpose, or whose limit
    the missing label would give, is a reading that is not judged. Answers must
    have been through ``answer`` or ``parse``.
    """
    readings = tuple(
        _reading(step, rule, answers, label, sheet)
        for step in sheet.step
        if step.name in answers
        for rule in step.judge
    )
    return consistent(_in_order(readings, answers, sheet), sheet)


def _in_order(
    readings: Sequence[Reading], answers: Answers, sheet: Worksheet
) -> tuple[Reading, ...]:
    """The readings; those of a lowest figure that lies above the first are not judged."""
    wrong: dict[str, Above] = {}
    for row in sheet.above:
        lowest, first = answers.get(row.lowest), answers.get(row.first)
        if isinstance(lowest, float) and isinstance(first, float) and lowest > first + row.slack:
            own = (step for step in sheet.step if step.name in (row.lowest, row.first))
            wrong |= {rule.check: row for step in own for rule in step.judge}
    return tuple(_open(one, wrong[one.check]) if one.check in wrong else one for one in readings)


def _open(reading: Reading, why: Above | Contradiction) -> Reading:
    return msgspec.structs.replace(
        reading,
        outcome=Outcome.NOT_JUDGED,
        why_not=why.says,
        says="",
        details=(why.source,),
    )


def consistent(readings: tuple[Reading, ...], sheet: Worksheet) -> tuple[Reading, ...]:
    """The readings; those that contradict each other are made again, and not judged."""
    got = {r.check: r.outcome is Outcome.PASSED for r in readings if r.value is not None}
    why: dict[str, Contradiction] = {}
    for row in sheet.contradiction:
        if all(got.get(check) is passed for check, passed in (row.first, row.second)):
            why |= {row.first[0]: row, row.second[0]: row}
    return tuple(_open(one, why[one.check]) if one.check in why else one for one in readings)


def _reading(
    step: Measurement,
    rule: MeasurementRule,
    answers: Answers,
    label: Label | None,
    sheet: Worksheet,
) -> Reading:
    value = answers[step.name]
    open_reading = Reading(
        check=rule.check,
        at=WHERE[rule.at],
        outcome=Outcome.NOT_JUDGED,
        source=f"bench worksheet: {step.title}",
    )
    if isinstance(value, str) and value.startswith(SKIPPED):
        why = value.partition(":")[2].strip() or value
        return msgspec.structs.replace(open_reading, why_not=why)
    if isinstance(value, str) and value not in (*rule.passed_when, *rule.failed_when):
        says = f"{step.title}: {value}"
        return msgspec.structs.replace(open_reading, value=value, says=says, why_not=NEITHER)
    if isinstance(value, str):
        low, high, failed = None, None, value in rule.failed_when
    else:
        try:
            low, high = _limits(rule, step, answers, label, sheet)
        except _NoLimit as missing:
            return msgspec.structs.replace(
                open_reading, value=value, unit=step.unit, why_not=str(missing)
            )
        failed = (low is not None and value < low) or (high is not None and value > high)
    said = rule.failed if failed else rule.passed
    shown = value if isinstance(value, str) else words.quantity(value, step.unit)
    return msgspec.structs.replace(
        open_reading,
        outcome=Outcome.FAILED if failed else Outcome.PASSED,
        value=value,
        unit=step.unit,
        says=said.format(value=shown, limits=_range(low, high, step.unit)),
        details=(f"limits {_range(low, high, step.unit)} ({rule.source})",)
        if isinstance(value, float)
        else (),
    )


class _NoLimit(Exception):
    """What a limit depends on was not given."""


def _limits(
    rule: MeasurementRule,
    step: Measurement,
    answers: Answers,
    label: Label | None,
    sheet: Worksheet,
) -> tuple[float | None, float | None]:
    """(lowest, highest) that pass, in the step's unit. Raises _NoLimit."""
    low, high = rule.low, rule.high
    if rule.low_of_answer is not None:
        other = answers.get(rule.low_of_answer)
        if isinstance(other, float):
            return rule.low_factor * other, high
        # Without the other measurement the label is the next best yardstick.
        return rule.low_factor * _promised(label, step.unit), high
    if rule.band is not None or rule.low_of_rest is not None:
        return _of_supply(rule, answers[step.name], label, sheet)
    if rule.low_of_label is not None:
        low = rule.low_of_label * _promised(label, step.unit)
    if rule.high_of_label is not None:
        high = rule.high_of_label * _promised(label, step.unit)
    return low, high


def _of_supply(
    rule: MeasurementRule, value: float | str, label: Label | None, sheet: Worksheet
) -> tuple[float | None, float | None]:
    """The band of the kind of supply. Raises _NoLimit where the kind decides and is not known."""
    promised = _promised(label, "V")
    told = words.supply_of(label, sheet)
    at_rest = rule.band == "rest" or rule.low_of_rest is not None
    if told is None and at_rest:
        raise _NoLimit(
            f"an adapter of {promised:g} V has a round plug or USB-C, and which was not told"
        )
    supply = sheet.supply[told or words.ROUND]
    silent = supply.silent_below
    if at_rest and silent is not None and isinstance(value, float) and value < silent:
        raise _NoLimit(
            "a USB-C adapter may give nothing until a machine is plugged in: "
            "see what it gives behind a USB-C meter"
        )
    middle = (supply.volts_at_rest or promised) if at_rest else promised
    if rule.low_of_rest is not None:
        return rule.low_of_rest * middle, rule.high
    stray = supply.tolerance * middle
    return middle - stray, middle + stray


def _promised(label: Label | None, unit: str | None) -> float:
    if label is None:
        raise _NoLimit("the adapter's label was not given")
    if unit == "V":
        return label.volts
    if label.amps is None:
        raise _NoLimit("the adapter's label gives no current")
    return label.amps


def _range(low: float | None, high: float | None, unit: str | None) -> str:
    if low is not None and high is not None:
        return f"{low:.4g} to {high:.4g} {unit}"
    if low is not None:
        return f"at least {low:.4g} {unit}"
    return f"at most {high:.4g} {unit}" if high is not None else "none"
