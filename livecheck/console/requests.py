"""What the console asks of its worker: JSON, a line each.

The first line to the worker is a ``Request``; the lines after it are orders, a word
each. The worker answers with ``livecheck.console.replies`` until it ends. When the
console is gone, the worker sees the end of its input and stops as if told to.
"""

from __future__ import annotations

from enum import StrEnum

import msgspec

from livecheck.diagnosis.worksheet_table import Filled
from livecheck.flex import FlexResult
from livecheck.plan import Plan, SleepAsked
from livecheck.starts.planned import StartsPlan


class RunOrder(StrEnum):
    """A word to a worker whose run goes on."""

    STOP = "stop"
    SKIP = "skip"
    PAUSE = "pause"
    RESUME = "resume"
    DEEPEN = "deepen"


class SurveyMachine(msgspec.Struct, frozen=True, tag="survey"):
    """Which machine and case is this?"""

    plan: Plan


class TakeRun(msgspec.Struct, frozen=True, tag="run"):
    """A whole run."""

    plan: Plan


class SaveGiven(msgspec.Struct, frozen=True, tag="given"):
    """A run of the plan's readings alone."""

    plan: Plan
    flex: FlexResult | None = None
    """What a flex test counted, to be judged and saved."""


class SaveWorksheet(msgspec.Struct, frozen=True, tag="worksheet"):
    """A run of bench measurements."""

    plan: Plan
    filled: Filled


class SaveKept(msgspec.Struct, frozen=True, tag="kept"):
    """A run that was kept elsewhere."""

    plan: Plan
    file: str
    """Where it was kept."""


class BringKept(msgspec.Struct, frozen=True, tag="bring"):
    """What was kept in memory, onto the shop drive that is there again."""

    runs: tuple[SaveKept, ...]
    """Besides the cases in memory."""


class SleepAndWake(msgspec.Struct, frozen=True, tag="sleep"):
    """Sleep and wake by the clock, as a run of the case."""

    plan: Plan
    asked: SleepAsked


class StartAgain(msgspec.Struct, frozen=True, tag="starts"):
    """Restart again and again; an answer comes only where the machine stays on."""

    plan: Plan
    asked: StartsPlan


class SwitchOff(msgspec.Struct, frozen=True, tag="off"):
    """Switch the machine off."""


Alone = SleepAndWake | StartAgain
"""What the machine does by itself."""
Job = SurveyMachine | TakeRun | SaveGiven | SaveWorksheet | SaveKept | BringKept | Alone | SwitchOff


class Request(msgspec.Struct, frozen=True, kw_only=True):
    """What the console wants, and where."""

    job: Job
    shop: str | None = None
    source: str | None = None
    """A capture to replay instead of this machine."""
    language: str | None = None
    """What its replies are in; None: what the shop's file says."""
