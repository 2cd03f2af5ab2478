"""The bench worksheet on a plain terminal: one question after another."""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable, Mapping

from livecheck import intake, wording
from livecheck.diagnosis import worksheet
from livecheck.diagnosis import worksheet_words as words
from livecheck.diagnosis.worksheet_table import Filled, Label, Measurement, Worksheet
from livecheck.found_words import reworded
from livecheck.records import Complaint, Knowledge, ToldLine
from livecheck.worded_forms import measure_choice
from livecheck.wording import text

WIDTH = 79
PLUGS = ("round", "usb-c")


def fill(
    complaint: Complaint, sheet: Worksheet, tables: Knowledge, lines: Iterable[ToldLine] = ()
) -> Filled:
    """Ask every step of a complaint; an empty answer, and the end of input, leave steps out.

    Sheet and tables are in the language that is spoken. ``lines``: what was told at the counter.
    """
    counter = intake.cautions(lines, tables.intake)
    _say(text("worksheet.heading", complaint=wording.title(complaint)) + "\n")
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
                    _say(_wrapped(text("console.caution", says=tables.cautions[name].text)))
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
    named = {plug: text(f"worksheet.{plug}") for plug in PLUGS}
    while True:
        said = _read(f"{text('worksheet.plug')} [{' / '.join(named.values())}] ")
        if not said:
            return None
        try:
            return words.read_supply(as_saved(said, named))
        except words.BadAnswers as error:
            _refuse(error)


def _label(sheet: Worksheet, supply: str | None) -> Label | None:
    """What the adapter's label says; None when it cannot be read."""
    while True:
        said = _read(f"{text('worksheet.label')}: ")
        if not said:
            return None
        try:
            return words.read_label(said, sheet, supply)
        except words.BadAnswers as error:
            _refuse(error)


def _ask(step: Measurement, sheet: Worksheet) -> float | str | None:
    _say(_wrapped(f"{step.title}: {step.do}"))
    named = {choice: measure_choice(choice) for choice in step.choices}
    hint = f"[{' / '.join(named.values()) or step.unit}]"
    while True:
        said = _read(f"  {hint} ")
        if not said:
            return None
        try:
            value = read_answer(step, as_saved(said, named), sheet)
        except words.BadAnswers as error:
            _refuse(error)
        else:
            _say(f"  = {shown(step, value)}")
            return value


def _refuse(error: words.BadAnswers) -> None:
    _say(f"  {reworded(str(error))}")


def as_saved(said: str, named: Mapping[str, str]) -> str:
    """The first letters of an answer, as it is saved; whatever fits none, or several, as typed."""
    fits = [own for own, label in named.items() if label.lower().startswith(said.lower())]
    return fits[0] if len(fits) == 1 else said


def shown(step: Measurement, value: float | str) -> str:
    """An answer as it is read."""
    return measure_choice(value) if isinstance(value, str) else reworded(words.shown(step, value))


def read_answer(step: Measurement, said: str, sheet: Worksheet) -> float | str:
    """An answer as typed, checked against its step. Raises BadAnswers."""
    if step.asks == "choice":
        # The first letters of a choice are enough, as long as only one begins so.
        fits = [choice for choice in step.choices if choice.startswith(said.lower())]
        return worksheet.answer(step.name, fits[0] if len(fits) == 1 else said, sheet)
    return worksheet.answer(step.name, said, sheet)


def _wrapped(said: str) -> str:
    return textwrap.fill(said, WIDTH)
