"""What the technician sees plugged in and the machine does not: asked, and judged as silent."""

from __future__ import annotations

import gzip
from dataclasses import replace
from pathlib import Path

import pytest

from livecheck import cli, inventory
from livecheck.casefile import CaseFolder
from livecheck.console.app import Console
from livecheck.console.screens.pick import PickScreen
from livecheck.console.screens.start import COMPLAINTS, StartScreen
from livecheck.console.screens.verdict import VerdictScreen
from livecheck.records import Complaint, Outcome, PluggedIn, Presence, Run
from livecheck.topology.answers import ambiguous_places, apply_answers
from livecheck.topology.history import configurations
from livecheck.topology.ids import ComponentId
from tests.console.console_limits import assert_holds, until, until_shown
from tests.testbeds import devices, laptops
from tests.testbeds.bed import Bed, BedHost
from tests.testbeds.build_demo import contents

pytestmark = pytest.mark.slow


def _without_power() -> Bed:
    """A laptop on its battery: no power comes in at the jack."""
    bed = laptops.ahci()
    nodes = [devices.mains(online=False) if n.path == devices.mains().path else n
             for n in bed.nodes]  # fmt: skip
    assert nodes != list(bed.nodes)
    return replace(bed, nodes=tuple(nodes))


def _capture(bed: Bed, folder: Path) -> Path:
    file = folder / "bed.capture.gz"
    file.write_bytes(gzip.compress(contents(bed)))
    return file


def _last_run(shop: Path) -> Run:
    (folder,) = (p.parent for p in shop.glob("livecheck-cases/*/case.json"))
    return CaseFolder(folder).load().runs[-1]


def _adapter(run: Run) -> tuple[Outcome, str]:
    (found,) = [r for r in run.readings if r.check == "power.adapter"]
    return found.outcome, found.at


def test_only_places_that_look_the_same_empty_and_silent_are_asked() -> None:
    """No jack while another is fed: those not in use are empty of course."""
    (jack,) = ambiguous_places(inventory.take(BedHost(_without_power())))
    assert jack.kind == "power-jack"
    assert ambiguous_places(inventory.take(BedHost(laptops.ahci()))) == ()


def test_what_is_told_is_held_against_what_answers() -> None:
    """A place with a part that answers needs no word; a silent one gets its part."""
    found = inventory.take(BedHost(_without_power()))
    (jack,) = ambiguous_places(found)
    drive = next(p.place for p in found.parts if p.kind == "drive")
    told = apply_answers(found, [PluggedIn(place=jack.id), PluggedIn(place=drive)])
    presence = {place.id: place.presence for place in told.places}
    assert presence[jack.id] is Presence.NOTHING_ANSWERS
    assert presence[drive] is Presence.SEEN
    run = Run(number=1, started="", inventory=told)
    assert configurations([run])[0].parts[jack.id] == ComponentId(kind="adapter", place=jack.id)


def test_by_the_command_line(tmp_path: Path) -> None:
    source = _capture(_without_power(), tmp_path)
    words = ["run", "--from", str(source), "--complaint", "not-charging", "--shop", str(tmp_path)]
    assert cli.main(words) == 0
    outcome, jack = _adapter(_last_run(tmp_path))
    assert outcome is Outcome.NOT_JUDGED
    assert cli.main([*words, "--answer", f"{jack}=plugged in"]) == 0
    assert _adapter(_last_run(tmp_path)) == (Outcome.FAILED, jack)


async def test_by_the_console(tmp_path: Path) -> None:
    """Asked before the run of a machine that does not charge; the tick reaches the record."""
    app = Console(shop=tmp_path, source=_capture(_without_power(), tmp_path))
    async with app.run_test(size=(80, 25)) as pilot:
        await until(pilot, StartScreen)
        await until_shown(pilot, "Cases are kept in")
        row = COMPLAINTS.index(Complaint.NOT_CHARGING)
        await pilot.press("home", *["down"] * row, "s")
        await until(pilot, PickScreen)
        assert_holds(app)
        await pilot.press("enter", "d")
        await until(pilot, VerdictScreen)
    run = _last_run(tmp_path)
    assert run.complaint.value == "not-charging"
    assert _adapter(run)[0] is Outcome.FAILED
