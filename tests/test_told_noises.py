"""Noises that were told of at the counter are findings until what makes them is another.

Common practice, no source: a drive with discs that clicks is copied before anything else and
given back to nobody unsaid; a fan that rattles or grinds has a worn bearing; what has no
moving part makes no noise of its own.
"""

from __future__ import annotations

import gzip
from collections.abc import Callable
from pathlib import Path

import pytest

from livecheck import cli
from livecheck.casefile import CaseFolder
from livecheck.records import Outcome
from livecheck.wording import text
from tests.bench_stories import odd_beds, walked_beds
from tests.testbeds import laptops
from tests.testbeds.bed import Bed
from tests.testbeds.build_demo import contents

FAN, DRIVE = "intake.fan-noise", "intake.drive-noise"


def discs() -> Bed:
    """A sound machine whose drive has discs that turn."""
    return odd_beds._changed(laptops.ahci(), "block", {"queue/rotational": "1"}, "sda")


def _typed(folder: Path, bed: Callable[[], Bed], *words: str) -> int:
    file = folder / f"{bed.__name__}.capture.gz"
    file.write_bytes(gzip.compress(contents(bed()), 1, mtime=0))
    where = ("--ticket", "4711", "--shop", str(folder), "--from", str(file))
    return cli.main([*words, *where])


def _found(folder: Path) -> dict[str, str]:
    """Noises that the last run is told of: check -> where."""
    (found,) = folder.glob("livecheck-cases/*/case.json")
    last = CaseFolder(found.parent).load().runs[-1]
    bad = (r for r in last.readings if r.outcome is Outcome.FAILED)
    return {r.check: r.at for r in bad if r.check in (FAN, DRIVE)}


@pytest.mark.parametrize(
    ("bed", "words", "kind"),
    [
        (discs, "words=it clicks and then everything stands still", "drive"),
        (discs, "words=a scratching sound from the left", "drive"),
        (discs, "marks=the disk is clicking", "drive"),
        (walked_beds.rattles, "words=the fan rattles", "cooling"),
        (walked_beds.rattles, "marks=grinding noise on the right", "cooling"),
        (walked_beds.rattles, "words=it is very loud, as if the fan scrapes", "cooling"),
        # No disc turns in it: what clicks there is not the drive.
        (walked_beds.rattles, "words=it clicks now and then", ""),
        (discs, "words=no clicking, no rattling, it is just slow", ""),
        (discs, "words=slow when I click on something", ""),
        (discs, "words=I clicked on a link and since then it is slow", ""),
        (discs, "words=the fan does not rattle", ""),
        (discs, "words=nothing to be heard", ""),
        # Chosen at the counter it is the fan's; in a sentence it may be anything's.
        (walked_beds.rattles, "words=noises in the headphones", ""),
    ],
)
def test_what_is_heard_is_found_where_it_comes_from(
    bed: Callable[[], Bed], words: str, kind: str, tmp_path: Path
) -> None:
    assert _typed(tmp_path, bed, "run", "--complaint", "slow", "--told", words) == 0
    assert {at.partition(":")[0].partition("@")[0] for at in _found(tmp_path).values()} == (
        {kind} if kind else set()
    )


def test_a_clicking_drive_is_copied_and_not_given_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("--told", "words=it clicks and freezes", "--told", "data=wanted, no copy")
    assert _typed(tmp_path, discs, "run", "--complaint", "slow", *words) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "OSTREVAR S3 240GB" in printed.partition("Next:")[0]
    assert "The customer's data" in printed
    assert "replace: mainboard" not in printed
    assert "longer soak" not in printed
    assert "deeper probe" not in printed
    assert "Next: replace: drive" in printed
    (report,) = tmp_path.glob("livecheck-cases/*/report.html")
    page = report.read_text("utf-8")
    assert text("customer.data-heard") in page
    assert text("customer.data-fine") not in page
    assert _typed(tmp_path, discs, "hand-over") == 1
    assert "clicks" in " ".join(capsys.readouterr().out.split())


def test_another_cooling_assembly_ends_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bed = walked_beds.rattles
    assert _typed(tmp_path, bed, "run", "--complaint", "slow", "--told", "words=fan rattles") == 0
    assert _found(tmp_path) == {FAN: "cooling@cooling"}
    done = ("--answer", "cooling@cooling=new part")
    assert _typed(tmp_path, bed, "run", "--complaint", "slow", *done) == 0
    assert _found(tmp_path) == {}
    capsys.readouterr()


def test_a_customer_may_keep_his_loud_fan(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bed = walked_beds.rattles
    assert _typed(tmp_path, bed, "run", "--complaint", "intake", "--told", "marks=noises") == 0
    assert "fan" in capsys.readouterr().out
    assert _typed(tmp_path, bed, "hand-over") == 1
    kept = ("--declined", "cooling@cooling=as long as it turns")
    assert _typed(tmp_path, bed, "hand-over", *kept) == 0
    assert "as long as it turns" in capsys.readouterr().out
