"""The bench worksheet: a machine without power or picture, judged from measurements.

Such a machine cannot be booted, so livecheck runs on the shop's own computer:
``steps`` says what to measure, ``judge`` turns the answers into readings, and the
engine locates the fault from them as from any others. ``machine`` is the machine
as far as every laptop is known. Steps, limits and words are data
(shared/worksheet.toml); the weight of each reading stands in shared/checks.toml.

Answers come from prompts or from a TOML file::

    [label]                  # as printed on the adapter
    volts = 19.5
    amps = 3.33              # or: watts = 65
    supply = "barrel"        # or: "usb-pd"

    [answers]
    adapter-open-voltage = 19.6
    jack-loose = "firm"
    rail-resistance = "not measured: no time"
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Final

import msgspec

from livecheck.records import (
    Complaint,
    Controller,
    Inventory,
    Outcome,
    Part,
    Place,
    Reading,
    Record,
)

SKIPPED: Final = "not measured"
"""What an answer begins with when the step was left out; a reason may follow a colon."""

Answers = Mapping[str, float | str]
"""Step name -> measured value in the step's unit, one of its choices, or ``not measured…``."""


class BadAnswers(Exception):
    """Answers that cannot be used; says which, and what would be right."""


class Supply(Record, frozen=True, kw_only=True):
    """A kind of supply, and how far its voltage may stray."""

    title: str
    tolerance: float
    """Share of the voltage, both ways."""
    tolerance_source: str
    volts_at_rest: float | None = None
    """What the plug gives before anything is agreed; None: the label's voltage."""


class Rule(Record, frozen=True, kw_only=True):
    """How one answer becomes one reading. Limits are in the step's unit."""

    check: str
    at: str
    """A name of ``WHERE``."""
    passed: str
    failed: str
    source: str
    low: float | None = None
    high: float | None = None
    band: str | None = None
    """``rest`` or ``label``: within the supply's tolerance of that voltage."""
    low_of_rest: float | None = None
    low_of_label: float | None = None
    high_of_label: float | None = None
    """Factors on the label's volts or amps, by the step's unit."""
    low_of_answer: str | None = None
    low_factor: float = 1.0
    """Not below this factor times another step's answer."""
    passed_when: tuple[str, ...] = ()
    failed_when: tuple[str, ...] = ()


class Step(Record, frozen=True, kw_only=True):
    """One thing to measure or look at."""

    name: str
    complaints: tuple[str, ...]
    title: str
    do: str
    asks: str
    """``number`` or ``choice``."""
    unit: str | None = None
    choices: tuple[str, ...] = ()
    least: float = 0.0
    most: float = 0.0
    """A number outside least … most is a slip of the pen and refused."""
    cautions: tuple[str, ...] = ()
    """Names in shared/cautions.toml to be read before the step."""
    judge: tuple[Rule, ...] = ()


class Sheet(Record, frozen=True, kw_only=True):
    """The whole of shared/worksheet.toml."""

    supply: dict[str, Supply]
    step: tuple[Step, ...]


class Label(Record, frozen=True, kw_only=True):
    """What the adapter's label promises."""

    volts: float
    amps: float | None = None
    supply: str = "barrel"


class Filled(Record, frozen=True, kw_only=True):
    """A filled-in worksheet."""

    answers: dict[str, float | str]
    label: Label | None = None


WHERE: Final = {
    "machine": "machine",
    "adapter": "adapter@jack:AC",
    "jack": "jack:AC",
    "battery": "battery@bay:BAT0",
    "button": "connector:power-button",
    "memory": "memory-controller",
    "display": "display-controller",
    "panel": "panel@panel:internal",
    "coin-cell": "coin-cell@connector:coin-cell",
}
"""Where a rule's reading is taken -> component id in ``machine()``."""


def steps(complaint: Complaint, sheet: Sheet) -> tuple[Step, ...]:
    """What to measure for a complaint, cheapest first; empty when it has no worksheet."""
    return tuple(step for step in sheet.step if complaint.value in step.complaints)


def parse(text: str, sheet: Sheet) -> Filled:
    """Read a TOML answers file. Raises BadAnswers, which says where and what is right."""
    try:
        given = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadAnswers(f"not a TOML file: {error}") from error
    strange = set(given) - {"label", "answers"}
    if strange:
        raise BadAnswers(
            f"unknown table or name {sorted(strange)[0]!r} (a worksheet has [label] and [answers])"
        )
    answers = given.get("answers", {})
    if not isinstance(answers, dict):
        raise BadAnswers("answers is no table (write [answers] and one line a step)")
    label = _label(given["label"], sheet) if "label" in given else None
    return Filled(
        answers={name: answer(name, value, sheet) for name, value in answers.items()}, label=label
    )


def answer(name: str, value: object, sheet: Sheet) -> float | str:
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
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadAnswers(f"{name}: {value!r} is no number (a value in {step.unit}, without it)")
    if not step.least <= value <= step.most:
        raise BadAnswers(
            f"{name}: {value:g} {step.unit} cannot be "
            f"(between {step.least:g} and {step.most:g} {step.unit})"
        )
    return float(value)


def judge(answers: Answers, label: Label | None, sheet: Sheet) -> tuple[Reading, ...]:
    """The readings of a filled-in worksheet, in the order of its steps.

    A step without an answer gives none; one left out on purpose, or whose limit
    the missing label would give, is a reading that is not judged. Answers must
    have been through ``answer`` or ``parse``.
    """
    return tuple(
        _reading(step, rule, answers, label, sheet)
        for step in sheet.step
        if step.name in answers
        for rule in step.judge
        if _applies(rule, answers[step.name])
    )


def _applies(rule: Rule, value: float | str) -> bool:
    """False for a choice that says nothing about this rule's check."""
    if isinstance(value, float) or value.startswith(SKIPPED):
        return True
    return value in (*rule.passed_when, *rule.failed_when)


def _reading(
    step: Step, rule: Rule, answers: Answers, label: Label | None, sheet: Sheet
) -> Reading:
    value = answers[step.name]
    source = f"bench worksheet: {step.title}"
    at = WHERE[rule.at]
    if isinstance(value, str) and value.startswith(SKIPPED):
        return _open(rule.check, at, source, value.partition(":")[2].strip() or value)
    if isinstance(value, str):
        low, high, failed = None, None, value in rule.failed_when
    else:
        try:
            low, high = _limits(rule, step, answers, label, sheet)
        except _NoLimit as missing:
            return _open(rule.check, at, source, str(missing), value, step.unit)
        failed = (low is not None and value < low) or (high is not None and value > high)
    said = rule.failed if failed else rule.passed
    shown = value if isinstance(value, str) else _quantity(value, step.unit)
    return Reading(
        check=rule.check,
        at=at,
        outcome=Outcome.FAILED if failed else Outcome.PASSED,
        value=value,
        unit=step.unit,
        source=source,
        says=said.format(value=shown, limits=_range(low, high, step.unit)),
        details=(f"limits {_range(low, high, step.unit)} ({rule.source})",)
        if isinstance(value, float)
        else (),
    )


def _open(
    check: str, at: str, source: str, why: str, value: float | None = None, unit: str | None = None
) -> Reading:
    return Reading(
        check=check,
        at=at,
        outcome=Outcome.NOT_JUDGED,
        value=value,
        unit=unit,
        source=source,
        why_not=why,
    )


class _NoLimit(Exception):
    """What a limit depends on was not given."""


def _limits(
    rule: Rule, step: Step, answers: Answers, label: Label | None, sheet: Sheet
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
        promised = _promised(label, "V")
        supply = sheet.supply[label.supply] if label is not None else None
        rest = supply.volts_at_rest if supply is not None else None
        if rule.low_of_rest is not None:
            return rule.low_of_rest * (rest or promised), high
        middle = (rest or promised) if rule.band == "rest" else promised
        stray = supply.tolerance * middle if supply is not None else 0.0
        return middle - stray, middle + stray
    if rule.low_of_label is not None:
        low = rule.low_of_label * _promised(label, step.unit)
    if rule.high_of_label is not None:
        high = rule.high_of_label * _promised(label, step.unit)
    return low, high


def _promised(label: Label | None, unit: str | None) -> float:
    if label is None:
        raise _NoLimit("the adapter's label was not given")
    if unit == "V":
        return label.volts
    if label.amps is None:
        raise _NoLimit("the adapter's label gives no current")
    return label.amps


def _label(given: object, sheet: Sheet) -> Label:
    if not isinstance(given, dict):
        raise BadAnswers("label is no table (write [label] and below it volts = 19.5)")
    fields = dict(given)
    if "watts" in fields and "amps" not in fields and isinstance(fields.get("volts"), int | float):
        watts = fields.pop("watts")
        if not isinstance(watts, int | float) or isinstance(watts, bool):
            raise BadAnswers(f"label: watts is {watts!r}, not a number")
        fields["amps"] = watts / fields["volts"] if fields["volts"] else 0.0
    strange = set(fields) - set(Label.__struct_fields__) - {"watts"}
    if strange:
        raise BadAnswers(f"label: unknown {sorted(strange)[0]!r} (volts, amps or watts, supply)")
    try:
        label = msgspec.convert(fields, Label)
    except msgspec.ValidationError as error:
        raise BadAnswers(f"label: {error}") from error
    if not 3 <= label.volts <= 60:
        raise BadAnswers(f"label: {label.volts:g} V is no adapter's voltage (3 to 60 V)")
    if label.amps is not None and not 0 < label.amps <= 30:
        raise BadAnswers(f"label: {label.amps:g} A is no adapter's current (up to 30 A)")
    if label.supply not in sheet.supply:
        raise BadAnswers(f"label: supply {label.supply!r} is none of {', '.join(sheet.supply)}")
    return label


def _quantity(value: float, unit: str | None) -> str:
    return f"{value:.4g} {unit}" if value < 1e6 else f"over {1e6:,.0f} {unit}"


def _range(low: float | None, high: float | None, unit: str | None) -> str:
    if low is not None and high is not None:
        return f"{low:.4g} to {high:.4g} {unit}"
    if low is not None:
        return f"at least {low:.4g} {unit}"
    return f"at most {high:.4g} {unit}" if high is not None else "none"


def machine() -> Inventory:
    """What every laptop has, for one that cannot be asked."""
    return Inventory(
        controllers=(
            Controller(id="power-controller", kind="power-controller", name="charging circuit"),
            Controller(id="memory-controller", kind="memory-controller", name="memory controller"),
            Controller(id="display-controller", kind="display-controller", name="graphics circuit"),
        ),
        places=(
            _place("jack:AC", "power-jack", "power jack", "power-controller"),
            _place("bay:BAT0", "battery-bay", "battery connector", "power-controller"),
            _place("connector:power-button", "power-button", "power button", "power-controller"),
            _place("connector:coin-cell", "internal-connector", "coin-cell holder", None),
            _place("dimm:1", "memory-slot", "memory slot", "memory-controller"),
            _place("socket:1", "processor-socket", "processor socket", None),
            _place("cooling", "cooling-mount", "heatsink mount", None),
            _place("panel:internal", "panel-connector", "screen lead", "display-controller"),
        ),
        parts=(
            _part("adapter", "jack:AC", "adapter"),
            _part("battery", "bay:BAT0", "battery"),
            _part("coin-cell", "connector:coin-cell", "coin cell"),
            _part("memory-module", "dimm:1", "memory"),
            _part("processor", "socket:1", "processor"),
            _part("cooling", "cooling", "cooling assembly"),
            _part("panel", "panel:internal", "panel"),
        ),
        gaps=("The machine does not start: what is fitted was not read but assumed.",),
    )


def _place(own: str, kind: str, name: str, controller: str | None) -> Place:
    return Place(id=own, kind=kind, name=name, controller=controller)


def _part(kind: str, place: str, name: str) -> Part:
    return Part(id=f"{kind}@{place}", kind=kind, name=name, place=place)
