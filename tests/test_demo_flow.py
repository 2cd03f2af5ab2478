"""The demo as a user plays it: verdicts found from captures, both sides told apart.

Outside source: the swap tables of standard swap experiments (two parts, two places): a fault
that shows with two parts in one place, and not with the first part elsewhere, is the place's.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from livecheck import cli, demo, knowledge
from livecheck.records import Side

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[demo.Step]]:
    """Every story as played, by ticket."""
    steps: dict[str, list[demo.Step]] = {}
    for step in demo.play(tmp_path_factory.mktemp("demo"), knowledge.load()):
        ticket = step.saved.loaded.case.ticket
        assert ticket is not None
        steps.setdefault(ticket, []).append(step)
    return steps


def test_a_port_is_found_by_two_swaps(played: dict[str, list[demo.Step]]) -> None:
    """Not settled after one run; the port after the swaps, which are found by identity.

    Common practice, no source: dirt outlives a swap, so the contacts are cleaned, the
    drive is put back, and its lead exchanged, before a board is ordered.
    """
    verdicts = [step.saved.location for step in played["DEMO-1"]]
    assert verdicts[0].side is Side.UNDETERMINED
    assert verdicts[2].next_step is not None
    assert verdicts[2].next_step.action == "move to another place"
    last = verdicts[-1]
    assert last.side is Side.CONTROLLER
    assert last.component is not None
    assert last.component.startswith("ata:")
    assert last.unit == "mainboard"
    assert last.pattern == "fault stays with the place"
    assert {swap.change for swap in last.swaps} >= {"swapped", "added", "moved"}


def test_a_drive_is_found(played: dict[str, list[demo.Step]]) -> None:
    """Medium errors that vanish with another drive are the drive's."""
    last = played["DEMO-2"][-1].saved.location
    assert (last.side, last.unit) == (Side.DEVICE, "drive")


def test_a_contact_is_no_part(played: dict[str, list[demo.Step]]) -> None:
    """A card that answers after a reseat: no part is ordered."""
    last = played["DEMO-3"][-1].saved.location
    assert last.side is Side.UNDETERMINED
    assert last.unit is None
    assert "contact" in last.sentence


def test_the_report_keeps_the_sides_apart(played: dict[str, list[demo.Step]]) -> None:
    """The port stands under controller faults, the worn battery under device faults."""
    page = Path(played["DEMO-1"][-1].saved.report_file).read_text("utf-8")
    plain = re.sub(r"<[^>]+>", " ", page)
    device = plain.index("Device faults")
    controller = plain.index("Controller faults")
    assert device < controller
    assert "capacity is lost" in plain[device:controller]
    assert "SATA port 1" in plain[controller:]
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert "https://" not in page


def test_a_second_demo_mixes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where cases lie already the demo refuses, and says what to do."""
    assert cli.main(["demo", "--to", str(tmp_path)]) == 0
    assert cli.main(["demo", "--to", str(tmp_path)]) == 3
    assert "empty folder" in capsys.readouterr().err


def test_cautions_travel_with_the_step_the_data_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A failing drive: on the command line too, before what to do with it is reasoned."""
    source = str(Path(demo.__file__).parent / "drive-1.capture.gz")
    assert cli.main(["run", "--from", source, "--complaint", "slow", "--shop", str(tmp_path)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Next: replace: drive" in said
    cautions = said.split("CAUTION: ")[1:]
    assert cautions[0].startswith("The customer's data comes before the repair")
    assert "Static discharge" in cautions[1]
    (case,) = (p.parent for p in tmp_path.glob("livecheck-cases/*/case.json"))
    capsys.readouterr()
    assert cli.main(["locate", str(case)]) == 0
    assert "CAUTION: The customer's data" in " ".join(capsys.readouterr().out.split())


def test_a_proven_repair_tells_the_way_to_the_customer(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("drive-1", "drive-2"):
        source = str(Path(demo.__file__).parent / f"{name}.capture.gz")
        words = ["run", "--from", source, "--complaint", "slow", "--ticket", "7"]
        capsys.readouterr()
        assert cli.main([*words, "--shop", str(tmp_path)]) == 0
        said = " ".join(capsys.readouterr().out.split())
        assert ("The repair is proven" in said) is (name == "drive-2")
    ways = ("Restore the customer's data", "Start the installed system", "Hand-over", "Record what")
    assert [said.find(way) for way in ways] == sorted(said.find(way) for way in ways)
    assert -1 not in {said.find(way) for way in ways}
