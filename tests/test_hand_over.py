"""A hand-over from the command line: replayed machines, the case's report, the sign-off."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from livecheck import cli, demo

FOLDER = Path(demo.__file__).parent


def replay(shop: Path, name: str, ticket: str = "77") -> None:
    source = str(FOLDER / f"{name}.capture.gz")
    words = ["run", "--from", source, "--ticket", ticket, "--complaint", "slow"]
    words += ["--shop", str(shop)]
    assert cli.main(words) == 0


def hand_over(
    shop: Path, name: str, capsys: pytest.CaptureFixture[str], *more: str
) -> dict[str, Any]:
    capsys.readouterr()
    source = str(FOLDER / f"{name}.capture.gz")
    words = ["hand-over", "--ticket", "77", "--shop", str(shop), "--from", source, "--json", *more]
    status = cli.main(words)
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert status == (0 if found["signed"] else 1)
    return found


@pytest.mark.slow
def test_a_repaired_machine_is_signed_off(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The drive with lost sectors was replaced; the new one passes."""
    replay(tmp_path, "drive-1")
    replay(tmp_path, "drive-2")
    found = hand_over(tmp_path, "drive-2", capsys)
    whole = found["hand_over"]
    assert found["signed"] is True and (whole["first"], whole["last"]) == (1, 3)
    states = {row["component"]: row["state"] for row in whole["rows"] if row["held"]}
    assert "replaced" in states.values()
    page = Path(found["report"]).read_text("utf-8")
    section = page.partition('id="sign-off"')[2].partition("</section>")[0]
    assert "Ready to be given back" in section and "Signature" in page
    # The hand-over is page one; what the case was about comes behind it.
    assert page.index("Ready to be given back") < page.index("Signature")
    assert page.index("Signature") < page.index('id="verdict"')
    assert page.count("<h1") == 1
    # What nobody could press in a replay stands as not tested.
    assert any("nothing to press" in missed["why"] for missed in whole["missed"])


def test_what_a_first_proof_leaves_is_told_though_it_is_signed_off(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The new drive is tested by the hand-over alone: its data are not restored by that."""
    replay(tmp_path, "drive-1")
    hand_over(tmp_path, "drive-2", capsys)
    (file,) = tmp_path.glob("livecheck-cases/*/case.json")
    assert cli.main(["locate", str(file.parent)]) == 0
    said = capsys.readouterr().out
    legs = ("signed off", "Restore the customer's data", "Start the installed", "Record what")
    places = [said.index(leg) for leg in legs]
    assert places == sorted(places) and "Hand-over check" not in said


def test_a_fault_that_is_back_is_not_signed_off(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    replay(tmp_path, "drive-1")
    replay(tmp_path, "drive-2")
    found = hand_over(tmp_path, "drive-1", capsys)
    assert found["signed"] is False and found["reasons"]
    assert "Not signed off" in Path(found["report"]).read_text("utf-8")
    bars = ("came back", "still fails", "fails now", "not tested again")
    barred = [row["component"] for row in found["hand_over"]["rows"] if row["state"] in bars]
    told = [word for one in barred for word in ("--declined", f"{one}=it is too dear")]
    declined = hand_over(tmp_path, "drive-1", capsys, *told)
    assert declined["signed"] is True
    assert "it is too dear" in Path(declined["report"]).read_text("utf-8")


def test_the_shops_spare_does_not_go_out_with_the_machine(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Signed off once the spare was sold; a spare nobody knows is no answer."""
    replay(tmp_path, "drive-1")
    capsys.readouterr()
    replay(tmp_path, "drive-2")
    (last,) = tmp_path.glob("livecheck-cases/*/runs/0002/run.json")
    parts = json.loads(last.read_text())["inventory"]["parts"]
    spare = next(p["identity"] for p in parts if p["kind"] == "drive")
    (case,) = tmp_path.glob("livecheck-cases/*/case.json")
    assert cli.main(["note", str(case.parent), "--spare", spare]) == 0
    found = hand_over(tmp_path, "drive-2", capsys)
    assert found["signed"] is False
    assert "the shop's own and still fitted" in " ".join(found["reasons"])
    words = ["hand-over", "--ticket", "77", "--shop", str(tmp_path), "--stays", "serial:NONE"]
    assert cli.main(words) == 2
    assert hand_over(tmp_path, "drive-2", capsys, "--stays", spare)["signed"] is True


@pytest.mark.parametrize("sold", [False, True])
def test_a_spare_of_another_case_is_known_as_the_shops(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], sold: bool
) -> None:
    """Vouched for in another machine and out of it again, it is lent here; left in there, that
    machine's owner bought it, and it is his that comes in."""
    replay(tmp_path, "drive-1", "other")
    replay(tmp_path, "drive-2", "other")
    (last,) = tmp_path.glob("livecheck-cases/*other/runs/0002/run.json")
    parts = json.loads(last.read_text())["inventory"]["parts"]
    spare = next(p["identity"] for p in parts if p["kind"] == "drive")
    (case,) = tmp_path.glob("livecheck-cases/*other/case.json")
    assert cli.main(["note", str(case.parent), "--spare", spare]) == 0
    if not sold:
        replay(tmp_path, "drive-1", "other")
    replay(tmp_path, "drive-1")
    found = hand_over(tmp_path, "drive-2", capsys)
    assert found["signed"] is sold
    assert sold or "the shop's own and still fitted" in " ".join(found["reasons"])


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (["hand-over"], 2),
        (["hand-over", "x", "--ticket", "77"], 2),
        (["hand-over", "--ticket", "77", "--soak", "900"], 2),
        (["hand-over", "--ticket", "no such ticket"], 3),
        (["guided", "--only", "no-such-check"], 2),
    ],
)
def test_wrong_use_says_so(
    words: list[str], status: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main([*words, "--shop", str(tmp_path)]) == status
    assert capsys.readouterr().err


def test_guided_checks_of_this_machine_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    """No hardware that is not there; nothing is started by a list."""
    assert cli.main(["guided", "--list", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    has_input = Path("/dev/input").is_dir()
    assert has_input or not {"keyboard", "touchpad"} & {row["name"] for row in rows}


def test_a_closed_case_proposes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What the repair proved stands where the next step stood, on every way to look at it."""
    replay(tmp_path, "drive-1")
    (file,) = tmp_path.glob("livecheck-cases/*/case.json")
    assert cli.main(["outcome", str(file.parent), "--unit", "drive", "--proved", "yes"]) == 0
    capsys.readouterr()
    assert cli.main(["locate", str(file.parent)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Next: Nothing: the case is closed (drive Ostrevar N4 512GB)." in said
    assert "replace" not in said.lower() and "CAUTION" not in said and "rescue" not in said
    page = (file.parent / "report.html").read_text("utf-8")
    assert "Nothing: the case is closed" in page
