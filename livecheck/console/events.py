"""What a screen, or the worker, tells the flow."""

from __future__ import annotations

from enum import StrEnum

import msgspec

from livecheck.console.answers import ResumeAnswers, RunOptions, Way
from livecheck.console.judged_case import JudgedCase
from livecheck.console.replies import Known, Looked, Reply
from livecheck.console.requests import RunOrder
from livecheck.diagnosis.worksheet_table import Filled
from livecheck.plan import Plan


class Surveyed(msgspec.Struct, frozen=True, kw_only=True):
    """The machine on the bench was looked at."""

    looked: Looked
    busy: bool
    """True: the technician is at something else by now, and is not to be interrupted."""
    run_wanted: bool = False


class RunWanted(msgspec.Struct, frozen=True):
    """A run as the first screen stands."""


class TicketTyped(msgspec.Struct, frozen=True):
    """A ticket stands on the first screen; it may have a case already."""


class Resumed(msgspec.Struct, frozen=True):
    """A machine that was here before: what was done since, and how to go on."""

    known: Known
    answers: ResumeAnswers
    way: Way


class PlacesTicked(msgspec.Struct, frozen=True):
    """Places that look empty and are not."""

    plan: Plan
    places: tuple[str, ...]


class Measured(msgspec.Struct, frozen=True):
    """A worksheet was filled."""

    plan: Plan
    filled: Filled


class Worked(msgspec.Struct, frozen=True):
    """The worker is done with something, or it could not."""

    reply: Reply
    plan: Plan


class OptionsSet(msgspec.Struct, frozen=True):
    """What is to differ from an ordinary run."""

    options: RunOptions


class Ordered(msgspec.Struct, frozen=True):
    """A word to the run that goes on."""

    order: RunOrder


class CaseChosen(msgspec.Struct, frozen=True):
    """A case of the case index is to be opened."""

    path: str


class StepRuledOut(msgspec.Struct, frozen=True):
    """This bench cannot do a step."""

    case: JudgedCase
    rule: str
    back: bool = False
    """True: it can after all."""


class PlaceCalled(msgspec.Struct, frozen=True):
    """A place is to have a name of the shop's."""

    case: JudgedCase
    place: str


class Task(StrEnum):
    """What can be begun besides a run."""

    MORE = "more"
    """The list of these."""
    DO_NOW = "do-now"
    """What is proposed, where the program can do it itself."""
    CASES = "cases"
    OPTIONS = "options"
    INTAKE = "intake"
    METERS = "meters"
    FLEX = "flex"
    GUIDED = "guided"
    SELF_TEST = "self-test"
    SLEEP = "sleep"
    """Sleep and wake by the clock."""
    STARTS = "starts"
    """Restart again and again."""
    HAND_OVER = "hand-over"
    OUTCOME = "outcome"
    TAKE_OUT = "take-out"
    """A run is no part of the case, or is one after all."""
    START_OVER = "start-over"
    SWITCH_OFF = "switch-off"


class TaskWanted(msgspec.Struct, frozen=True):
    """One of those, for the case in front where there is one."""

    task: Task
    case: JudgedCase | None = None


Event = (
    Surveyed
    | RunWanted
    | TicketTyped
    | Resumed
    | PlacesTicked
    | Measured
    | Worked
    | OptionsSet
    | Ordered
    | CaseChosen
    | StepRuledOut
    | PlaceCalled
    | TaskWanted
)
