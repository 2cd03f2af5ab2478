"""The bench worksheet on a plain terminal: one question after another."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable

from livecheck import intake
from livecheck.diagnosis import worksheet
from livecheck.diagnosis import worksheet_words as words
from livecheck.diagnosis.worksheet_table import Filled, Label, Measurement, Worksheet
from livecheck.records import Complaint, Knowledge, ToldLine

WIDTH = 79
PLUG = "Adapter's plug: round (or square), or USB-C?"
LABEL = "Adapter's label, as in 19.5 V 3.33 A, or all of 5 V 3 A, 9 V 3 A, 20 V 3.25 A"


def fill(
    complaint: Complaint, sheet: Worksheet, tables: Knowledge, lines: Iterable[ToldLine] = ()
) -> Filled:
    """Ask every step of a complaint; an empty answer, and the end of input, leave steps out.

    ``lines``: what was told at the counter.
    """
    counter = intake.cautions(lines, tables.intake)
    _say(f"Bench worksheet: {complaint}. An empty answer leaves a step out.\n")
    answers: dict[str, float | str] = {}
    label: Label | None = None
    supply: str | None = None
    told: set[str] = set()
    try:
        supply = _supply()
        label = _label(sheet, supply)
        supply = supply or words.supply_of(label, sheet)
        for step in worksheet.steps(complaint, sheet, supply):
            for name in worksheet.cautions(step, counter):
                if name not in told and name in tables.cautions:
                    _say(_wrapped(f"CAUTION: {tables.cautions[name].text}"))
                    told.add(name)
            value = _ask(step, sheet)
            if value is not None:
                answers[step.name] = value
    except EOFError:
        _say("")
    return Filled(answers=answers, label=label, supply=supply)


def _say(said: str, end: str = "\n") -> None:
    # Standard output is for the result, also when it is JSON.
    print(said, end=end, file=sys.stderr, flush=True)


def _read(prompt: str) -> str:
    _say(prompt, end="")
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    return line.strip()


def _supply() -> str | None:
    """What plug the adapter has; None when nobody knows."""
    while True:
        said = _read(f"{PLUG} [round / usb-c] ")
        if not said:
            return None
        try:
            return words.read_supply(said)
        except words.BadAnswers as error:
            _say(f"  {error}")


def _label(sheet: Worksheet, supply: str | None) -> Label | None:
    """What the adapter's label says; None when it cannot be read."""
    while True:
        said = _read(f"{LABEL}: ")
        if not said:
            return None
        try:
            return words.read_label(said, sheet, supply)
        except words.BadAnswers as error:
            _say(f"  {error}")


def _ask(step: Measurement, sheet: Worksheet) -> float | str | None:
    _say(_wrapped(f"{step.title}: {step.do}"))
    hint = f"[{' / '.join(step.choices)}]" if step.asks == "choice" else f"[{step.unit}]"
    while True:
        said = _read(f"  {hint} ")
        if not said:
            return None
        try:
            value = read_answer(step, said, sheet)
        except words.BadAnswers as error:
            _say(f"  {error}")
        else:
            _say(f"  = {words.shown(step, value)}")
            return value


def read_answer(step: Measurement, said: str, sheet: Worksheet) -> float | str:
    """An answer as typed, checked against its step. Raises BadAnswers."""
    if step.asks == "choice":
        # The first letters of a choice are enough, as long as only one begins so.
        fits = [choice for choice in step.choices if choice.startswith(said.lower())]
        return worksheet.answer(step.name, fits[0] if len(fits) == 1 else said, sheet)
    return worksheet.answer(step.name, said, sheet)


def _wrapped(said: str) -> str:
    return textwrap.fill(said, WIDTH)
