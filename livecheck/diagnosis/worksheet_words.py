"""What stands on labels and meters, and figures as a meter shows them.

An adapter's label names one voltage or, with USB Power Delivery, several, each with its
current: ``Output 5 V 3 A, 9 V 3 A, 20 V 3.25 A``. The highest is what a laptop asks for.
Meters write ``12k``, ``4R7``, ``1M2`` (IEC 60062, the letter stands for the point) and
``OL`` for more than their range.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Final

import msgspec

from livecheck.diagnosis.worksheet_table import Label, Measurement, Worksheet

ROUND: Final = "barrel"
DELIVERY: Final = "usb-pd"
MOST_VOLTS: Final = 60.0
"""No adapter of a laptop gives more."""
LONGEST: Final = 500
"""Letters on a label, with all that it says of the mains."""
OVER_RANGE: Final = 1e9
"""The value of ``OL``, in ohms."""

_PLUGS: Final = {"round": ROUND, "barrel": ROUND, "square": ROUND, "rectangular": ROUND,
                 "usb-c": DELIVERY, "usbc": DELIVERY, "type-c": DELIVERY, "c": DELIVERY,
                 "usb-pd": DELIVERY, "pd": DELIVERY}  # fmt: skip
_DELIVERY_WORDS: Final = re.compile(
    r"usb[- ]?c|type[- ]?c|usb[- ]?pd|\b(?:pd|pps|epr)\b|power delivery", re.I
)
_FIGURE: Final = re.compile(r"(\d+(?:[.,]\d+)?)\s*([a-z]*)", re.I)
_NO_FIGURE: Final = re.compile(r"^(?:out|dc|or|and|max|[\s,;:/=⎓|⎯–()+~-])*$", re.I)
_INPUT: Final = re.compile(r"^.*(?:\boutputs?\b|\d\s*hz\b)|(?<=\d\w)\W+input\b.*$", re.I)
"""What a whole label says of the mains."""
_RANGE: Final = re.compile(
    r"(\d+(?:[.,]\d+)?)\s*v?\s*(?:-|–|~|to)\s*(\d+(?:[.,]\d+)?)\s*(?=v)", re.I
)
_LABEL_UNITS: Final = {
    **dict.fromkeys(("v", "vdc", "volt", "volts"), ("volts", 1.0)),
    **dict.fromkeys(("a", "amp", "amps"), ("amps", 1.0)),
    **dict.fromkeys(("w", "watt", "watts"), ("watts", 1.0)),
    "ma": ("amps", 1e-3),
}
_EXAMPLE: Final = "(as in: 19.5 V 3.33 A, or 5 V 3 A, 20 V 3.25 A)"
_STEPS: Final = {"": 1.0, "u": 1e-6, "µ": 1e-6, "m": 1e-3, "k": 1e3, "K": 1e3, "M": 1e6}
_UNITS: Final = {
    unit: re.compile(rf"\s*(?:{names})?(?:\s*dc)?$", re.I)
    for unit, names in (("ohm", "ohms?|Ω|Ω"), ("V", "volts?|v"), ("A", "amperes?|amps?|a"))
}
_NUMBER: Final = re.compile(r"(\d+(?:\.\d*)?|\.\d+)\s*([uµmkKM]?)|(\d*)([kKMRrVA])(\d+)")
_OVER: Final = re.compile(r"\W*(?:[01]?\W*[O0]\W*V?\W*L|over(?:load)?|open|∞)\W*[kM]?\W*", re.I)
_THOUSANDS: Final = re.compile(r"([1-9]\d{0,2}),(\d{3})")


class BadAnswers(Exception):
    """Answers that cannot be used; says which, and what would be right."""


def read_supply(words: str) -> str:
    """The kind of supply, from what the plug is called. Raises BadAnswers."""
    word = "-".join(words.lower().split())
    fits = {supply for name, supply in _PLUGS.items() if word and name.startswith(word)}
    fits = fits or {s for name, s in _PLUGS.items() if re.match(rf"{name}\b", word)}
    if len(fits) != 1:
        raise BadAnswers(f"{words}: say round or usb-c")
    return fits.pop()


def read_label(words: str, sheet: Worksheet, supply: str | None = None) -> Label:
    """A label from its words. Raises BadAnswers.

    It is USB Power Delivery where the words say so, whatever the plug was called; without
    ``supply`` where they name several voltages, too. A single one that such an adapter can
    give leaves it open.
    """
    if len(words) > LONGEST:
        raise BadAnswers(f"{words[:40]}…: longer than a label {_EXAMPLE}")
    rows = _label_rows(words)
    # The watts of a whole adapter stand before its voltages as often as behind them.
    watts = {k: v for row in rows for k, v in row.items() if k == "watts"}
    rows = [row for row in rows if "volts" in row]
    if not rows:
        raise BadAnswers(f"the label's volts are missing {_EXAMPLE}")
    several = len({row["volts"] for row in rows}) > 1
    if _DELIVERY_WORDS.search(words) or (supply is None and several):
        supply = DELIVERY
    highest = max(rows, key=lambda row: row["volts"])
    if supply == DELIVERY and highest["volts"] <= MOST_VOLTS:
        # Of a range a laptop asks for the highest fixed voltage in it.
        fixed = [v for v in sheet.supply[DELIVERY].fixed_volts if v <= highest["volts"]]
        highest = {**highest, "volts": max(fixed, default=highest["volts"])}
    fields: dict[str, object] = {**watts, **highest}
    return label(fields | ({"supply": supply} if supply else {}), sheet)


def _label_rows(words: str) -> list[dict[str, float]]:
    """The figures of a label, a row for each voltage. Raises BadAnswers."""
    rest = _RANGE.sub(r"\1V \2", _INPUT.sub(" ", _DELIVERY_WORDS.sub(" ", words)))
    if not _NO_FIGURE.match(_FIGURE.sub(" ", rest)):
        raise BadAnswers(f"{words}: not understood {_EXAMPLE}")
    rows: list[dict[str, float]] = [{}]
    for number, unit in _FIGURE.findall(rest):
        name, factor = _LABEL_UNITS.get(unit.lower(), ("", 1.0))
        if not name:
            raise BadAnswers(f"{number} {unit}: not understood {_EXAMPLE}")
        if name == "volts" and name in rows[-1]:
            rows.append({})
        rows[-1][name] = float(number.replace(",", ".")) * factor
    return rows


def label(given: object, sheet: Worksheet) -> Label:
    """A label from its table in an answers file. Raises BadAnswers."""
    if not isinstance(given, dict):
        raise BadAnswers("label is no table (write [label] and below it volts = 19.5)")
    fields = dict(given)
    printed = fields.get("volts")
    if isinstance(printed, str):
        # The whole label, as it is typed at a prompt.
        return read_label(printed, sheet, _told_supply(fields))
    watts = fields.pop("watts", None)
    if watts is not None and (not isinstance(watts, int | float) or isinstance(watts, bool)):
        raise BadAnswers(f"label: watts is {watts!r}, not a number")
    volts = fields.get("volts")
    if watts is not None and "amps" not in fields and isinstance(volts, int | float):
        fields["amps"] = as_float(watts) / as_float(volts) if volts else 0.0
    strange = set(fields) - set(Label.__struct_fields__)
    if strange:
        raise BadAnswers(f"label: unknown {sorted(strange)[0]!r} (volts, amps or watts, supply)")
    try:
        found = msgspec.convert(fields, Label)
    except msgspec.ValidationError as error:
        raise BadAnswers(f"label: {error}") from error
    if not 3 <= found.volts <= MOST_VOLTS:
        raise BadAnswers(
            f"label: {found.volts:g} V is no adapter's voltage (3 to {MOST_VOLTS:g} V)"
        )
    if found.amps is not None and not 0 < found.amps <= 30:
        raise BadAnswers(f"label: {found.amps:g} A is no adapter's current (up to 30 A)")
    if found.supply is not None and found.supply not in sheet.supply:
        raise BadAnswers(f"label: supply {found.supply!r} is none of {', '.join(sheet.supply)}")
    return found


def _told_supply(fields: Mapping[str, object]) -> str | None:
    """What stands beside a label in words, of which only the supply adds to it."""
    beside = sorted(set(fields) - {"volts", "supply"})
    if beside:
        raise BadAnswers(f"label: {beside[0]} beside the whole label {_EXAMPLE}")
    return str(fields["supply"]) if "supply" in fields else None


def supply_of(label: Label | None, sheet: Worksheet) -> str | None:
    """The kind of supply; None where it was not told and the voltage fits more than one."""
    if label is None or label.supply is not None:
        return label.supply if label is not None else None
    either = any(label.volts in kind.fixed_volts for kind in sheet.supply.values())
    return None if either else ROUND


def as_float(value: float) -> float:
    """A number of TOML, whose integers have no end."""
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf


def read_figure(words: str, step: Measurement) -> float:
    """A figure as a meter shows it, in the step's unit. Raises BadAnswers."""
    # Volts are no ohms: whoever measured something else did not answer what was asked.
    unit = _UNITS[step.unit or "ohm"]
    plain = unit.sub("", words.strip().removeprefix("+")).strip()
    if _OVER.fullmatch(plain):
        if step.unit != "ohm":
            raise BadAnswers(f"{words}: more than the meter's range (take a higher range)")
        return OVER_RANGE
    if re.match(r"[-−]\s*\.?\d", plain):
        raise BadAnswers(f"{words}: below zero ({_below_zero(step)})")
    thousands = _THOUSANDS.fullmatch(plain)
    if thousands is not None and step.unit == "ohm":
        # A comma is a point here; whoever meant thousands would condemn a sound board.
        figure = f"{float('.'.join(thousands.groups())):g}"
        raise BadAnswers(f"{words}: thousands, or a point? (write {figure}k or {figure})")
    match = _NUMBER.fullmatch(plain.replace(",", "."))
    if match is None:
        raise BadAnswers(f"{words!r} is no number (a value in {step.unit}, as the meter shows)")
    number, prefix, whole, letter, behind = match.groups()
    if number is not None:
        return float(number) * _STEPS[prefix]
    if letter in _STEPS or letter.upper() == {"ohm": "R"}.get(step.unit or "", step.unit):
        return float(f"{whole or 0}.{behind}") * _STEPS.get(letter, 1.0)
    raise BadAnswers(f"{words!r} is no value in {step.unit}")


def _below_zero(step: Measurement) -> str:
    if step.unit == "ohm":
        return "take off what the meter shows with its leads held together"
    return "the meter's leads or the plug's are the wrong way round: look which, measure again"


def quantity(value: float, unit: str | None) -> str:
    """A measured value as a meter shows it: ``12 kohm``, ``0.2 ohm``, ``5.1 V``."""
    if unit == "ohm" and value >= OVER_RANGE:
        return "OL (more than the meter's range)"
    for factor, prefix in ((1e6, "M"), (1e3, "k")):
        if unit == "ohm" and value >= factor:
            return f"{value / factor:.4g} {prefix}{unit}"
    return f"{value:.4g} {unit}"


def shown(step: Measurement, value: float | str) -> str:
    """An answer as it is told back."""
    return value if isinstance(value, str) else quantity(value, step.unit)
