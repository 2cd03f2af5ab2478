"""Invented cases, played from captures: start to report, with swaps between the runs.

``stories.toml`` names the captures and what the technician would have answered.
Each run is replayed the same way as a live one, so the verdicts are
found, not written down.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

import msgspec

from livecheck import capture
from livecheck.casefile import Shop, ShopError
from livecheck.plan import Plan
from livecheck.records import Answer, Complaint, Knowledge, Record
from livecheck.run import RunContext
from livecheck.saving import Saved, run_and_save


class DemoRun(Record, frozen=True, kw_only=True):
    """One run of a story."""

    capture: str
    """File in this package."""
    says: str
    """What the technician did before it."""
    known_good: tuple[str, ...] = ()
    reseated: tuple[str, ...] = ()
    answers: tuple[Answer, ...] = ()


class Story(Record, frozen=True, kw_only=True):
    """One invented case."""

    title: str
    ticket: str
    complaint: Complaint
    runs: tuple[DemoRun, ...]


class Step(Record, frozen=True, kw_only=True):
    """One run as played."""

    title: str
    number: int
    says: str
    saved: Saved


def stories() -> tuple[Story, ...]:
    """The stories of the package, in the order they are told."""
    text = resources.files(__name__).joinpath("stories.toml").read_text("utf-8")
    return tuple(msgspec.convert(s, Story) for s in tomllib.loads(text)["story"])


def play(to: Path, tables: Knowledge) -> Iterator[Step]:
    """Play every story into a folder of cases at ``to``; yields each run as it is saved.

    Raises ShopError when nothing can be saved there, or cases lie there already.
    """
    to.mkdir(parents=True, exist_ok=True)
    shop = Shop(to)
    if shop.entries():
        raise ShopError(f"{to} holds cases already; name an empty folder with --to")
    for story in stories():
        for number, run in enumerate(story.runs, start=1):
            plan = Plan(
                complaint=story.complaint,
                ticket=story.ticket,
                known_good=run.known_good,
                reseated=run.reseated,
                answers=run.answers,
            )
            context = RunContext(host=_host(run.capture), plan=plan, knowledge=tables)
            saved = run_and_save(context, shop)
            yield Step(title=story.title, number=number, says=run.says, saved=saved)


def _host(name: str) -> capture.CapturedHost:
    return capture.parse(resources.files(__name__).joinpath(name).read_bytes(), name)
