"""The bench worksheet on a plain terminal: one question after another."""

from __future__ import annotations

import sys
import textwrap

from livecheck.diagnosis import worksheet
from livecheck.diagnosis.worksheet_table import Filled, Label, Measurement, Worksheet
from livecheck.records import Complaint, Knowledge

WIDTH = 79


def fill(complaint: Complaint, sheet: Worksheet, tables: Knowledge) -> Filled:
    """Ask every step of a complaint; an empty answer, and the end of input, leave steps out."""
    _say(f"Bench worksheet: {complaint}. An empty answer leaves a step out.\n")
    answers: dict[str, float | str] = {}
    label: Label | None = None
    told: set[str] = set()
    try:
        label = _label(sheet)
        for step in worksheet.steps(complaint, sheet):
            for name in step.cautions:
                if name not in told and name in tables.cautions:
                    _say(_wrapped(f"CAUTION: {tables.cautions[name].text}"))
                    told.add(name)
            value = _ask(step, sheet)
            if value is not None:
                answers[step.name] = value
    except EOFError:
        _say("")
    return Filled(answers=answers, label=label)


def _say(words: str, end: str = "\n") -> None:
    # Standard output is for the result, also when it is JSON.
    print(words, end=end, file=sys.stderr, flush=True)


def _read(prompt: str) -> str:
    _say(prompt, end="")
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    return line.strip()


def _label(sheet: Worksheet) -> Label | None:
    """What the adapter's label says; None when it cannot be read."""
    while True:
        words = _read("Adapter's label, as in `19.5 V 3.33 A` (add usb-pd for such): ")
        if not words:
            return None
        try:
            return read_label(words, sheet)
        except worksheet.BadAnswers as error:
            _say(f"  {error}")


def read_label(words: str, sheet: Worksheet) -> Label:
    """A label from words such as ``19.5 V 3.33 A``, ``20V 65W usb-pd``. Raises BadAnswers."""
    plain = words.lower()
    lines = ["[label]", *(f"{k} = {v}" for k, v in _figures(plain.replace("usb-pd", " ")).items())]
    if "usb-pd" in plain:
        lines.append('supply = "usb-pd"')
    label = worksheet.parse("\n".join(lines), sheet).label
    if label is None:
        raise worksheet.BadAnswers("the label was not understood (as in: 19.5 V 3.33 A)")
    return label


def _figures(words: str) -> dict[str, float]:
    names = {"v": "volts", "a": "amps", "w": "watts"}
    spaced = "".join(f" {c} " if c in names else c for c in words).split()
    found: dict[str, float] = {}
    for number, unit in zip(spaced[::2], spaced[1::2], strict=False):
        try:
            found[names[unit]] = float(number.replace(",", "."))
        except (KeyError, ValueError) as error:
            raise worksheet.BadAnswers(
                f"{number} {unit}: not understood (as in: 19.5 V 3.33 A)"
            ) from error
    if "volts" not in found:
        raise worksheet.BadAnswers("the label's volts are missing (as in: 19.5 V 3.33 A)")
    return found


def _ask(step: Measurement, sheet: Worksheet) -> float | str | None:
    _say(_wrapped(f"{step.title}: {step.do}"))
    hint = f"[{' / '.join(step.choices)}]" if step.asks == "choice" else f"[{step.unit}]"
    while True:
        words = _read(f"  {hint} ")
        if not words:
            return None
        try:
            return read_answer(step, words, sheet)
        except worksheet.BadAnswers as error:
            _say(f"  {error}")


def read_answer(step: Measurement, words: str, sheet: Worksheet) -> float | str:
    """An answer as typed, checked against its step. Raises BadAnswers."""
    if step.asks == "choice":
        # The first letters of a choice are enough, as long as only one begins so.
        fits = [choice for choice in step.choices if choice.startswith(words.lower())]
        return worksheet.answer(step.name, fits[0] if len(fits) == 1 else words, sheet)
    number = words.lower().replace(",", ".").removesuffix((step.unit or "").lower()).strip()
    try:
        value = float(number)
    except ValueError:
        return worksheet.answer(step.name, words, sheet)
    return worksheet.answer(step.name, value, sheet)


def _wrapped(words: str) -> str:
    return textwrap.fill(words, WIDTH)
