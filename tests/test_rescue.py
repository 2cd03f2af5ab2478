"""The way to copy a failing drive: right way round, onto nothing that anybody needs, never run."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import msgspec
import pytest

from livecheck import cli, demo
from livecheck.records import Inventory, Part, Place
from livecheck.rescue import MAP, TOOL, NoSafeCopy, commands, source, target

GB = 10**9
BAD = Part(id="drive:BAD", kind="drive", name="A", place="ata:1", identity="serial:BAD",
           serial="BAD", block="sda", size_bytes=500 * GB)  # fmt: skip
EMPTY = Part(id="drive:NEW", kind="drive", name="B", place="usb:1-2", identity="serial:NEW",
             serial="NEW", block="sdb", size_bytes=1000 * GB)  # fmt: skip
PLACES = (
    Place(id="ata:1", kind="sata-port", name="SATA port 1", controller=None),
    Place(id="ata:2", kind="sata-port", name="SATA port 2", controller=None),
    Place(id="usb:1-2", kind="usb-port", name="USB port 2", controller=None, external=True),
)
_with = msgspec.structs.replace
CAPTURE = str(Path(demo.__file__).parent / "drive-1.capture.gz")


def _bench(*parts: Part) -> Inventory:
    return Inventory(parts=parts, places=PLACES)


def test_the_source_is_read_and_the_target_written() -> None:
    """Source before target before map: the order of GNU ddrescue's manual."""
    found = source(_bench(BAD, EMPTY), (BAD.id,))
    onto = target(_bench(BAD, EMPTY), "/dev/sdb", ("serial:BAD",), ())
    opened, *copies = commands(found, onto, Path("/shop/case 7"))
    assert opened == ("blockdev", "--setrw", "/dev/sdb")
    for words in copies:
        assert words[-3:] == ("/dev/sda", "/dev/sdb", f"/shop/case 7/{MAP}")
    # What reads well comes first, and nothing is tried again before it is copied.
    assert "--no-scrape" in copies[0] and not any("retry" in word for word in copies[0])


@pytest.mark.parametrize(
    ("onto", "named", "mounted", "says"),
    [
        (EMPTY, "sdx", (), "no whole drive"),
        (EMPTY, "sdb1", (), "no whole drive"),
        (_with(EMPTY, bench_own=True), "sdb", (), "own stick"),
        (_with(EMPTY, place="ata:2"), "sdb", (), "no drive of the shop's"),
        (_with(EMPTY, identity="serial:OLD"), "sdb", (), "no drive of the shop's"),
        (EMPTY, "sdb", ("/dev/sdb1",), "mounted"),
        (BAD, "sda", (), "no drive of the shop's"),
    ],
)
def test_what_anybody_needs_is_no_target(
    onto: Part, named: str, mounted: tuple[str, ...], says: str
) -> None:
    """The bench's stick, an inner drive, another of the customer's, one in use, a partition."""
    with pytest.raises(NoSafeCopy, match=says):
        target(_bench(BAD, onto), named, ("serial:BAD", "serial:OLD"), mounted)


@pytest.mark.parametrize(
    ("onto", "says"),
    [
        (_with(EMPTY, size_bytes=499 * GB), "smaller"),
        (_with(EMPTY, size_bytes=None), "size"),
        (_with(EMPTY, block="sda"), "the same"),
    ],
)
def test_a_copy_that_cannot_hold_is_refused(onto: Part, says: str) -> None:
    with pytest.raises(NoSafeCopy, match=says):
        commands(BAD, onto, Path("/shop"))


def test_a_drive_that_is_not_there_or_not_alone_is_no_source() -> None:
    other = _with(BAD, id="drive:BAD2", block="sdc")
    for wanted, there, says in (
        ((BAD.id,), (EMPTY,), "not on the bench"),
        ((), (BAD, EMPTY), "no drive of this case"),
        ((BAD.id, other.id), (BAD, other), "more than one"),
    ):
        with pytest.raises(NoSafeCopy, match=says):
            source(_bench(*there), wanted)


def test_the_way_is_told_where_data_are_at_risk_and_leads_to_an_answer(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A drive of the machine is refused as target; nothing but questions was asked."""
    words = ["run", "--from", CAPTURE, "--complaint", "slow", "--shop", str(tmp_path)]
    assert cli.main(words) == 0
    said = capsys.readouterr().out
    (case,) = (p.parent for p in tmp_path.glob("livecheck-cases/*/case.json"))
    assert f"livecheck rescue {case.name} --to DRIVE" in " ".join(said.split())
    rescue = ["rescue", str(case), "--from", CAPTURE, "--to"]
    assert cli.main([*rescue, "nvme0n1"]) == 3
    assert "would be overwritten" in capsys.readouterr().err
    assert cli.main([*rescue, "sdz"]) == 3
    assert "nvme0n1" in capsys.readouterr().err
    assert not (case / MAP).exists()


@pytest.mark.skipif(shutil.which(TOOL) is None, reason=f"{TOOL} is not installed here")
def test_the_lines_copy_what_reads_and_go_on_where_they_stopped(tmp_path: Path) -> None:
    """The tool itself, on files: its test mode (manual of GNU ddrescue 1.27) feigns bad sectors."""
    bad_from, bad_to, size = 0x40000, 0x44000, 0x100000
    data = os.urandom(size)
    (tmp_path / "sda").write_bytes(data)
    (tmp_path / "sdb").touch()
    feigned = tmp_path / "feigned"
    feigned.write_text(
        f"0x0 + 1\n0x0 {bad_from:#x} +\n{bad_from:#x} {bad_to - bad_from:#x} -\n"
        f"{bad_to:#x} {size - bad_to:#x} +\n"
    )
    _, first, again = commands(BAD, EMPTY, tmp_path)

    def copy(words: tuple[str, ...], *more: str) -> str:
        here = [str(tmp_path / word.removeprefix("/dev/")) if word.startswith("/dev/") else word
                for word in words]  # fmt: skip
        subprocess.run([here[0], *more, *here[1:]], check=True, stdout=subprocess.DEVNULL)
        return (tmp_path / MAP).read_text()

    assert "  /" in copy(first, f"--test-mode={feigned}"), "the edges of the gap wait"
    told = copy(again, f"--test-mode={feigned}")
    assert f"{bad_from:#010x}  {bad_to - bad_from:#010x}  -" in told
    copied = (tmp_path / "sdb").read_bytes()
    assert copied[:bad_from] == data[:bad_from] and copied[bad_to:] == data[bad_to:]
    assert "-" not in copy(again).rpartition("status\n")[2]
    assert (tmp_path / "sdb").read_bytes() == (tmp_path / "sda").read_bytes() == data
