"""Names that devices tell of themselves leave room for what is said of them.

USB allows a string 126 characters (USB 2.0, 9.6.7), NVMe a model 40, and a firmware table whatever
its author likes; none of them may push verdict, step or caution off the screen.
"""

from __future__ import annotations

import gzip
from dataclasses import replace
from pathlib import Path

import pytest

from livecheck import cli
from livecheck.inventory import take
from livecheck.inventory.naming import MACHINE_NAMES, MOST, short
from livecheck.wording import clean
from tests.bench_stories.keys import KeyPlayer, Played, Visit
from tests.inventory import smbios_builder as smbios
from tests.report.pages import Page
from tests.testbeds import devices, stories
from tests.testbeds.bed import Bed, BedHost, Node
from tests.testbeds.build_demo import contents

BAD = (
    "[bold red]x[/] \x1b[2J\x1b]0;own\x07 \u202etxet\u202c <script>alert(1)</script> $(reboot) "
    + "A" * 4096
)
DMI = "/sys/firmware/dmi/tables"


def _named_badly(node: Node) -> Node:
    keys = {"nvme": ("model", "firmware_rev"), "power_supply": ("model_name", "manufacturer")}
    names = {key: BAD for key in keys.get(node.subsystem, ()) if key in node.files}
    return replace(node, files={**node.files, **names})


def bed() -> Bed:
    """The laptop of the lost sectors, of makers who mean harm."""
    sound = stories.drive_1()
    table = sound.extra[f"{DMI}/DMI"]
    assert isinstance(table, bytes)
    for name in (b"Wander 14", b"Talnau", b"M.2 SSD", b"DIMM A", b"SW8G-3200", b"RW 8500U"):
        table = table.replace(name, BAD.encode())
    extra = {**sound.extra, f"{DMI}/DMI": table,
             f"{DMI}/smbios_entry_point": smbios.entry_point_64(table)}  # fmt: skip
    drive = replace(stories.NVME_BAD, model=BAD, firmware=BAD)
    box = devices.usb("1-1", "152d:0578", (8, 6, 0x62), BAD, "BX\x1b[31m" + "9" * 900)
    nodes = (*map(_named_badly, sound.nodes), *box)
    return replace(sound, nodes=nodes, extra=extra, drives={"nvme0n1": drive, "nvme0": drive})


def test_a_name_is_cut_by_what_it_takes_up_on_the_screen() -> None:
    assert short("OSTREVAR S3 480GB") == "OSTREVAR S3 480GB"
    for name in (BAD, "\u202e" * 70, "x" * (MOST + 1), "x" * (MOST - 1) + "\x1b"):
        assert len(clean(short(name))) <= MOST
        assert short(short(name)) == short(name)


def test_no_name_in_the_inventory_is_longer() -> None:
    found = take(BedHost(bed()))
    names = [part.name for part in found.parts]
    names += [place.name for place in found.places]
    names += [controller.name for controller in found.controllers]
    names += [str(getattr(found.machine, name)) for name in MACHINE_NAMES]
    assert sum("…" in name for name in names) >= 6
    # A place may carry what is printed beside it behind its own words.
    assert [name for name in names if len(clean(name)) > MOST + 4] == []


def test_verdict_step_and_caution_are_read_at_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "bad.capture.gz"
    file.write_bytes(gzip.compress(contents(bed()), 1))
    words = ["run", "--complaint", "slow", "--ticket", BAD[:80], "--from", str(file)]
    assert cli.main([*words, "--shop", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    top = " ".join(" ".join(out.splitlines()[:10]).split())
    for wanted in ("at fault", "CAUTION: The customer's data", "Next: "):
        assert wanted in top
    assert all(char.isprintable() or char in "\n\u00a0" for char in out)
    (page,) = tmp_path.glob("livecheck-cases/*/report.html")
    broken = Page(page.read_text("utf-8")).text("customer").partition("Are your data safe?")[0]
    assert "Broken: drive" in broken and len(broken) < 600


@pytest.mark.slow
async def test_every_screen_on_the_way_holds(tmp_path: Path) -> None:
    """80 by 25: verdict, likelihood, step, minutes and caution in ten lines, as ever."""
    looks = tuple(f"press {key}" for key in ("t", "escape", "o", "escape", "e", "escape", "m"))
    visit = Visit(
        bed, ("take slow", "verdict at fault", "verdict CAUTION", *looks, "see Hand-over")
    )
    player = KeyPlayer(tmp_path, (80, 25))
    await player.play(Played(name="names", truth="a drive", visits=(visit,)))
    assert len(player.screens) > 8
