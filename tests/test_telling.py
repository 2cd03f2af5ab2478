"""What is told once a proposed step was done is understood, and nothing is told that shows."""

from __future__ import annotations

import msgspec
import pytest

from livecheck.diagnosis.steps.actions import Action
from livecheck.diagnosis.worksheet_machine import machine
from livecheck.records import (
    AllPowerAway,
    Answer,
    CleanedPart,
    FirmwareFlashed,
    LookedInside,
    NextStep,
    PartIs,
    RepairedPart,
    Run,
    SettingPutRight,
)
from livecheck.records.answer_words import placed, understood
from livecheck.telling import telling
from tests import factories

PORT, LEAD = factories.PORT_1, f"drive-lead@{factories.PORT_1}"


def _step(action: Action, target: str, to: str | None = None) -> NextStep:
    return NextStep(action=action, target=target, to=to, minutes=3, why="")


@pytest.mark.parametrize(
    ("step", "answer"),
    [
        (_step(Action.POWER_AWAY, "machine"), AllPowerAway()),
        (_step(Action.INSPECT, "machine"), LookedInside()),
        (_step(Action.REFLASH, "firmware"), FirmwareFlashed()),
        (_step(Action.CLEAN, "cooling@cooling"), CleanedPart(part="cooling@cooling")),
        (_step(Action.EXCHANGE_LEAD, LEAD, PORT), RepairedPart(component=LEAD)),
        (_step(Action.SETTING, "wlan"), SettingPutRight(component="wlan")),
        (_step(Action.REPAIR_SYSTEM, "software"), RepairedPart(component="software")),
    ],
)
def test_what_was_done_is_understood(step: NextStep, answer: Answer) -> None:
    told = telling(step, factories.three_runs())
    assert told is not None
    assert [understood(*words.split("=", 1)) for words in told.answers] == [answer]


def test_a_contact_made_anew_is_told_by_its_place() -> None:
    for action in (Action.RESEAT, Action.CLEAN_CONTACTS):
        told = telling(_step(action, PORT), factories.three_runs())
        assert told is not None and told.reseated == (PORT,)
        assert told.options == f"--reseated {PORT}"


def test_a_part_with_a_number_is_told_by_nobody_and_one_without_is_the_shops() -> None:
    runs: tuple[Run, ...] = factories.three_runs()
    parts = [part for run in runs for part in run.inventory.parts]
    numbered = next(part.id for part in parts if part.identity)
    assert telling(_step(Action.SWAP, numbered, PORT), runs) is None
    runs = (msgspec.structs.replace(runs[-1], inventory=machine()),)
    plain = next(part.id for part in machine().parts if not part.identity)
    told = telling(_step(Action.SWAP, plain, PORT), runs)
    assert told is not None
    (answer,) = (understood(*words.split("=", 1)) for words in told.answers)
    assert isinstance(answer, PartIs) and answer.known_good


@pytest.mark.parametrize(("action", "vouched"), [(Action.SWAP, True), (Action.REPLACE, False)])
def test_what_takes_the_place_of_a_silent_part_is_told(action: Action, vouched: bool) -> None:
    """It had no number to be missed: the new one would be taken for it, cured."""
    runs: tuple[Run, ...] = factories.three_runs()
    told = telling(_step(action, f"drive@{PORT}", PORT), runs)
    assert told is not None
    (answer,) = (understood(*words.split("=", 1)) for words in told.answers)
    assert placed(answer, runs[-1].inventory) == PartIs(
        place=PORT, name="known-good spare" if vouched else "new part", key=None, known_good=vouched
    )


def test_a_machine_of_the_shops_is_told_and_a_soak_is_not() -> None:
    told = telling(_step(Action.KNOWN_GOOD_MACHINE, "drive"), factories.three_runs())
    assert told is not None and told.options == "--in-known-good-machine"
    assert telling(_step(Action.SOAK, "machine"), factories.three_runs()) is None
