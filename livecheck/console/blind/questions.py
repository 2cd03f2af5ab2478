"""What is asked of someone who sees no screen, each question for yes or no: pure.

A dialogue is a generator: it yields questions, is sent the answers, and returns what they
come to.
"""

from __future__ import annotations

from collections.abc import Generator, Sequence
from typing import Final

import msgspec

from livecheck import step_names
from livecheck.console.answers import ResumeAnswers
from livecheck.console.blind.looks import due
from livecheck.console.judged_case import JudgedCase
from livecheck.console.replies import Known, Looked, Pickable, Proposed
from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.worksheet_table import Measurement
from livecheck.records import HowEnded, Knowledge
from livecheck.voice.talk import Asked
from livecheck.worded_forms import measure_choice
from livecheck.wording import text

Dialogue = Generator[Asked, bool | None, ResumeAnswers]
BY_ITSELF: Final = frozenset({Action.SOAK, Action.DEEPER})
"""Steps that the program does alone."""
DONE: Final = ("reseated", "known_good", "spares", "returned", "treated")
"""Fields of what may have been done, in the order they are asked for."""


def since_last_run(looked: Looked, known: Known, proposed: Proposed | None) -> Dialogue:
    """What was done since the case's last run, where no sensor tells it."""
    told = ResumeAnswers(cannot=known.cannot)
    if known.cut_off:
        told = msgspec.structs.replace(told, ended=(yield from _how_it_ended()))
    if proposed is not None and proposed.told is not None and (yield _asked("was-done")):
        told = told.with_told(proposed.told)
    if (yield _asked("anything-else")):
        for field in DONE:
            given: Sequence[Pickable] = _choices(looked)[field]
            if given and (yield _asked(f"done.{field.replace('_', '-')}")):
                picked = yield from _picked(given)
                kept: tuple[str, ...] = getattr(told, field)
                both = tuple(dict.fromkeys((*kept, *picked)))
                told = msgspec.structs.replace(told, **{field: both})
        elsewhere = bool((yield _asked("elsewhere")))
        told = msgspec.structs.replace(told, in_known_good_machine=elsewhere)
    return told


def fitted(places: Sequence[Pickable]) -> Generator[Asked, bool | None, tuple[str, ...]]:
    """Which places look empty and are not."""
    return (yield from _picked(places, "voice.is-fitted"))


def looks(
    asked: Sequence[Measurement], tables: Knowledge
) -> Generator[Asked, bool | None, dict[str, float | str]]:
    """What is seen and heard of the machine, by the choices of the bench worksheet."""
    seen: dict[str, float | str] = {}
    for step in asked:
        cautions = [text("console.caution", says=tables.cautions[c].text) for c in step.cautions]
        before = " ".join([*cautions, f"{step.title}: {step.do}", ""])
        for choice in step.choices:
            asks = text("voice.is-seen", choice=measure_choice(choice))
            if (yield Asked(says=before + asks)):
                seen[step.name] = choice
                break
            before = ""
    return seen


def _how_it_ended() -> Generator[Asked, bool | None, str | None]:
    if (yield _asked("by-hand")):
        return HowEnded.BY_HAND
    return HowEnded.BY_ITSELF if (yield _asked("by-itself")) else None


def _picked(
    given: Sequence[Pickable], asks: str = "voice.which"
) -> Generator[Asked, bool | None, tuple[str, ...]]:
    picked = []
    for one in given:
        if (yield Asked(says=text(asks, label=one.label))):
            picked.append(one.value)
    return tuple(picked)


def _choices(looked: Looked) -> dict[str, Sequence[Pickable]]:
    return {
        "reseated": looked.places,
        "known_good": looked.numbered,
        "spares": looked.unnumbered,
        "returned": looked.unnumbered,
        "treated": looked.treated,
    }


def _asked(key: str) -> Asked:
    return Asked(says=text(f"voice.{key}"))


# --- After the verdict: ways to go on, offered one after another


def ways(case: JudgedCase) -> tuple[tuple[str, Asked], ...]:
    """By its name each way to go on that there is, and the question that offers it."""
    step, names = case.next_step, case.names
    listed: list[tuple[str, str]] = []
    if not case.way_on and due(case.loaded.case.complaint, case.loaded.runs):
        listed.append(("look", text("voice.look-now")))
    if step is not None and not case.way_on:
        words = step_names.named(step, names, case.tables)
        if step.action in BY_ITSELF:
            listed.append(("do-now", text("voice.do-now", says=words)))
        listed.append(("cannot", text("voice.cannot")))
    listed.append(("run", text("voice.was-it-done")))
    listed += [(way, text(f"voice.{way}")) for way in ("say-again", "switch-off", "to-screen")]
    return tuple((way, Asked(says=says, otherwise=None)) for way, says in listed)
