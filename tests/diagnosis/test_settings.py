"""A switch or a missing file looks like a broken card: tried first, and once.

Soft and hard block: Linux ``Documentation/driver-api/rfkill.rst``. That a switch comes
before the screwdriver is common practice, no source.
"""

from __future__ import annotations

import msgspec
import pytest

from livecheck import knowledge
from livecheck.diagnosis import Resources, locate
from livecheck.diagnosis.steps.actions import Action
from livecheck.records import (
    Complaint,
    Controller,
    Outcome,
    Part,
    Place,
    Reading,
    SettingPutRight,
    Side,
)
from tests.diagnosis.laptop import CARD, PORT1, drive, laptop, reading, run

TABLES = knowledge.load()
INVENTORY = laptop(drive("drive:INV-0001", PORT1))
PRESENT = reading("wireless.present", CARD, True)


def _unjudged(check: str, value: str | None) -> Reading:
    return Reading(check=check, at=CARD, outcome=Outcome.NOT_JUDGED, value=value, why_not="none")


@pytest.mark.parametrize("check", ["wireless.soft-block", "wireless.blocked"])
def test_a_block_is_a_setting_first(check: str) -> None:
    """No part is named for it, and what is proposed opens nothing."""
    runs = [run(1, INVENTORY, PRESENT, reading(check, CARD, False))]
    found = locate("t", runs, TABLES)
    assert found.side not in (Side.DEVICE, Side.CONTROLLER)
    step = found.next_step
    assert step is not None
    assert (step.action, step.target) == (Action.SETTING, CARD)
    assert sum(o.probability for o in step.outcomes) == pytest.approx(1.0)
    assert step.why == TABLES.checks[check].setting


def test_a_block_by_software_is_softwares_more_than_a_block_by_hardware() -> None:
    """The chance that no part is at fault is the likelier outcome, and greater for the first."""
    chances = []
    for check in ("wireless.soft-block", "wireless.blocked"):
        step = locate("t", [run(1, INVENTORY, PRESENT, reading(check, CARD, False))],
                      TABLES).next_step  # fmt: skip
        assert step is not None
        chances.append(step.outcomes[0].probability)
    assert chances[0] > 0.9 and chances[0] > chances[1] > 0.5


def test_a_setting_put_right_is_not_proposed_again() -> None:
    """Told of by an answer, or ruled out here."""
    held = reading("wireless.blocked", CARD, False)
    told = (SettingPutRight(component=CARD),)
    runs = [run(1, INVENTORY, PRESENT, held), run(2, INVENTORY, PRESENT, held, answers=told)]
    after = locate("t", runs, TABLES)
    assert after.next_step is not None and after.next_step.action != Action.SETTING
    assert [p.id for p in runs[1].inventory.parts if p.id == CARD], "it is the same card still"
    ruled = locate("t", runs[:1], TABLES, Resources(cannot=(f"{Action.SETTING}: {CARD}",)))
    assert ruled.next_step is None or ruled.next_step.action != Action.SETTING


def test_what_the_setup_switched_off_is_switched_on_where_something_is_missing() -> None:
    """Before anything is opened; where nothing is missing the setup is left as it is."""
    off = reading("firmware.settings", "firmware", False)
    for complaint, wanted in ((Complaint.PART_MISSING, True), (Complaint.UNSTABLE, False)):
        step = locate("t", [run(1, INVENTORY, PRESENT, off, complaint=complaint)], TABLES).next_step
        assert step is not None
        assert ((step.action, step.target) == (Action.SETTING, "firmware")) is wanted


def test_a_socket_is_replaced_before_the_board_that_carries_it() -> None:
    """Common practice, no source: a USB socket sits on a small board, or is soldered anew."""
    assert TABLES.kinds["usb-port"].unit == "usb-port"
    assert (TABLES.kinds["usb-port"].price or 0.0) < (TABLES.kinds["mainboard"].price or 0.0)


def test_what_the_stick_lacks_is_no_fault_of_the_card() -> None:
    """Named in the step; under another complaint a card that was not tested is left alone."""
    lacks = (_unjudged("wireless.firmware", "fw-7.bin"), _unjudged("wireless.driver", None))
    runs = [run(1, INVENTORY, PRESENT, *lacks, complaint=Complaint.PART_MISSING)]
    found = locate("t", runs, TABLES)
    assert found.component != CARD
    step = found.next_step
    assert step is not None and (step.action, step.target) == (Action.ENABLE, CARD)
    slow = [msgspec.structs.replace(runs[0], complaint=Complaint.SLOW)]
    other = locate("t", slow, TABLES).next_step
    assert other is None or other.action != Action.ENABLE


def test_unjudged_for_another_reason_asks_for_nothing() -> None:
    runs = [run(1, INVENTORY, PRESENT, _unjudged("wireless.driver", None))]
    step = locate("t", runs, TABLES).next_step
    assert step is None or step.action != Action.ENABLE


_SOUND = Controller(id="pci:0000:00:1f.3", kind="sound-controller", name="sound")
_PAD = Part(id="touchpad@internal:touchpad", kind="touchpad", name="pad", place="internal:touchpad")


def test_the_other_driver_of_a_sound_chip_is_tried_before_it_is_thought_of() -> None:
    """What helped in tests/real_cases: ninth/other/05 (Linux sound/hda/intel-dsp-config.c)."""
    found = msgspec.structs.replace(INVENTORY, controllers=(*INVENTORY.controllers, _SOUND))
    failed = reading("kernel.device", _SOUND.id, False)
    runs = [run(1, found, PRESENT, failed, complaint=Complaint.UNSTABLE)]
    step = locate("t", runs, TABLES).next_step
    assert step is not None and (step.action, step.target) == (Action.SETTING, _SOUND.id)
    assert "snd_intel_dspcfg.dsp_driver=1" in step.why


def test_a_pad_that_does_not_start_is_left_without_power() -> None:
    """What helped in tests/real_cases: ninth/other/03; before anything is written or opened."""
    place = Place(id="internal:touchpad", kind="internal-connector", name="pad's connector")
    found = laptop(drive("drive:INV-0001", PORT1), extra=(_PAD,))
    found = msgspec.structs.replace(found, places=(*found.places, place))
    failed = reading("kernel.input", _PAD.id, False)
    runs = [run(1, found, PRESENT, failed, complaint=Complaint.PART_MISSING)]
    step = locate("t", runs, TABLES).next_step
    assert step is not None and step.action == Action.POWER_AWAY
