"""What the console does next: decided by ``livecheck.console.flow``, done by the workflows."""

from __future__ import annotations

import msgspec

from livecheck.console.answers import RunOptions
from livecheck.console.events import Task
from livecheck.console.judged_case import JudgedCase
from livecheck.console.replies import Known, Looked, Pickable
from livecheck.console.requests import Alone, RunOrder, SaveGiven, SaveKept, SaveWorksheet
from livecheck.console.views import View
from livecheck.plan import Plan
from livecheck.records import ToldLine


class NewJob(msgspec.Struct, frozen=True):
    """The first screen, blank: another machine, another complaint."""


class SetOptions(msgspec.Struct, frozen=True):
    """What differs from an ordinary run stands on the first screen."""

    options: RunOptions


class Survey(msgspec.Struct, frozen=True):
    """Look at the machine on the bench, and for its case."""

    plan: Plan
    run_wanted: bool = False
    """True: the run starts then, unless the machine was here before and is asked about."""


class AskResume(msgspec.Struct, frozen=True):
    """A machine that was here before: what was done since?"""

    looked: Looked
    known: Known


class AskPlaces(msgspec.Struct, frozen=True):
    """Places of which only the technician knows whether they are empty."""

    plan: Plan
    places: tuple[Pickable, ...]


class Measure(msgspec.Struct, frozen=True):
    """The bench worksheet."""

    plan: Plan
    told: tuple[ToldLine, ...] = ()
    """What was told when the case was opened."""


class StartRun(msgspec.Struct, frozen=True):
    """A run, and its screen while it lasts."""

    plan: Plan
    lasted: dict[str, float]
    """Probe -> seconds it took last time."""


class Work(msgspec.Struct, frozen=True):
    """The worker does something that needs no screen of its own."""

    job: SaveGiven | SaveWorksheet | SaveKept | Alone


class SendOrder(msgspec.Struct, frozen=True):
    """A word to the worker."""

    order: RunOrder


class OpenCase(msgspec.Struct, frozen=True):
    """The verdict of a case."""

    path: str


class RuleOut(msgspec.Struct, frozen=True):
    """A step that cannot be done here is kept in the case, and the case judged anew."""

    case: JudgedCase
    rule: str
    back: bool = False
    """True: it can be done after all."""


class CallPlace(msgspec.Struct, frozen=True):
    """Ask what a place is called here, and keep it by the board's model."""

    case: JudgedCase
    place: str


class Begin(msgspec.Struct, frozen=True):
    """A task of the technician's, for the case in front where there is one."""

    task: Task
    plan: Plan
    """Goes on with that case, else with the machine's."""
    case: JudgedCase | None = None


class Fail(msgspec.Struct, frozen=True):
    """It could not be done: back to the first screen, which says so."""

    says: str
    plan: Plan | None = None
    kept: str | None = None
    """File that holds a run the shop drive refused; it can be saved again."""


Step = (
    NewJob
    | SetOptions
    | AskResume
    | Survey
    | AskPlaces
    | Measure
    | StartRun
    | Work
    | SendOrder
    | OpenCase
    | RuleOut
    | CallPlace
    | Begin
    | Fail
    | View
)
