"""A small campaign by a fixed seed, and proof that it would see what it is there to see."""

from __future__ import annotations

import time

import pytest

from livecheck.records import DamagedRecord
from tests.hostile import __main__ as command
from tests.hostile import campaign as campaigns
from tests.hostile.campaign import Campaign
from tests.hostile.targets import Target, targets


@pytest.mark.slow
def test_nothing_is_found() -> None:
    """No uncaught exception, no hang, nothing touched outside the drive, no record lost.

    Depth by ``python -m tests.hostile --inputs 100000 --attacks 200 --rounds 10 --seed S``.
    """
    campaign = Campaign(7)
    campaign.parsers(2000)
    campaign.drives(8)
    figures = campaign.figures
    assert figures.finds == [], command.told(figures)
    assert (figures.inputs.total(), figures.attacks) == (2000, 8)
    assert figures.lines > 1000


@pytest.mark.slow
def test_related_runs_are_judged() -> None:
    """Whatever repairs, swaps and lying firmware make of a second run, there is a verdict."""
    campaign = Campaign(7)
    campaign.related(60)
    assert campaign.figures.finds == [], command.told(campaign.figures)


def test_every_parser_takes_what_it_is_given_whole() -> None:
    """The corpora are inputs that parse: what is refused at once tests nothing behind it."""
    for target in targets():
        for data in target.corpus:
            target.work(data)


def _broken(work: str) -> Target:
    def act(data: bytes) -> None:
        if work == "hangs":
            time.sleep(60)
        if work == "refuses":
            raise DamagedRecord("as it should")
        raise KeyError("mainboard")

    return Target(work, (b"{}",), act)


def test_what_breaks_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """An exception and a hang are finds, each once; a refusal is none."""
    broken = tuple(map(_broken, ("raises", "hangs", "refuses")))
    monkeypatch.setattr(campaigns, "targets", lambda: broken)
    monkeypatch.setattr(campaigns, "WAITING_SECONDS", 0.1)
    campaign = Campaign(1)
    campaign.parsers(30)
    assert {find.where for find in campaign.figures.finds} == {"raises", "hangs"}
    assert len(campaign.figures.finds) == 2
    assert campaign.figures.refused == campaign.figures.inputs["refuses"] > 0
