"""Names a hand can find: no address of a bus in them, and none that stands for two places."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from livecheck import capture, demo, inventory, knowledge
from livecheck.console.judged_case import JudgedCase
from livecheck.console.verdict_lines import verdict_lines
from livecheck.inventory.naming import named
from livecheck.judgement import locate_case
from livecheck.names import Names
from livecheck.printing import change, verdict
from livecheck.records import Controller, Inventory, Part, Place, Run
from livecheck.report import render
from livecheck.topology import called

ADDRESS = re.compile(
    r"\b(?:[0-9a-f]{4}:)?[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]\b|\b(?:port|USB) \d+-\d+|\busb\d+\b"
)
"""Of a PCI function (PCI Local Bus 3.0, 3.2.2.3: bus, device, function) and of a USB port
(Linux Documentation/driver-api/usb/usb.rst, from memory: bus-port.port)."""
CAPTURES = sorted(Path(demo.__file__).parent.glob("*.capture.gz"))


def test_addresses_are_seen() -> None:
    for name in ("PCIe slot at port 00:1c.0", "slot 0000:00:04.0", "USB port 1-4", "usb1"):
        assert ADDRESS.search(name)
    assert not ADDRESS.search("drive slot (M.2 SSD) 2, SATA port 1, USB 3.2")


@pytest.mark.parametrize("source", CAPTURES, ids=lambda path: path.name)
def test_no_name_holds_an_address_and_no_two_places_share_one(source: Path) -> None:
    found = inventory.take(capture.load(source).scope("inventory"))
    rows: list[Controller | Place | Part] = [*found.controllers, *found.places, *found.parts]
    names = [row.name for row in rows]
    assert [name for name in names if ADDRESS.search(name)] == []
    assert "VGA compatible controller" not in names
    places = [place.name for place in found.places]
    assert len(places) == len(set(places))


@pytest.mark.slow
def test_no_screen_and_no_sentence_holds_one(tmp_path: Path) -> None:
    """Raw figures lie behind a line; what stands on the screen can be pointed at."""
    tables = knowledge.load()
    for step in demo.play(tmp_path, tables):
        loaded = step.saved.loaded
        found = locate_case(loaded, tables)
        case = JudgedCase(loaded=loaded, location=found, tables=tables, report="")
        lines = [line.text for line in verdict_lines(case)]
        # A command to type names places by their ids: there a name would not do.
        lines += [line for line in verdict(loaded, found, tables).splitlines() if " --" not in line]
        assert [line for line in lines if ADDRESS.search(line)] == []
        page = render(loaded.case, loaded.runs, found, tables)
        shown = re.sub(r"<(details|code|style)\b.*?</\1>", "", page, flags=re.DOTALL)
        assert ADDRESS.findall(re.sub(r"<[^>]*>", " ", shown)) == []


def _slots(*kinds: str | None, printed: str | None = None) -> list[str]:
    """What slots with such parts are called."""
    places = tuple(
        Place(id=f"slot:0000:00:1c.{n}", kind="pcie-slot", name=f"PCIe slot at port 00:1c.{n}",
              printed_name=printed) for n in range(len(kinds))
    )  # fmt: skip
    parts = tuple(
        Part(id=f"{kind}:{n}", kind=kind, name="x", place=places[n].id)
        for n, kind in enumerate(kinds) if kind is not None
    )  # fmt: skip
    return [place.name for place in named(Inventory(places=places, parts=parts)).places]


def test_a_slot_is_called_by_what_goes_into_it_and_what_is_printed_there() -> None:
    assert _slots("wireless-card", None) == ["wireless card slot", "empty card slot"]
    assert _slots("drive", printed="M.2 B") == ["drive slot (M.2 B)"]
    assert _slots("drive", "drive") == ["drive slot 1", "drive slot 2"]


DRIVE = Part(id="drive:A-9917", kind="drive", name="Ostrevar N4", place="ata:1", serial="A-9917")
OTHER = Part(id="drive:B-4420", kind="drive", name="Ostrevar N4", place="ata:1", serial="B-4420")
BAY = Place(id="ata:1", kind="sata-port", name="drive slot (A)")


def _runs(*fitted: Part | None) -> tuple[Run, ...]:
    return tuple(
        Run(number=n, started="", inventory=Inventory(
            places=(BAY if part else Place(id="ata:1", kind="sata-port", name="empty"),),
            parts=(part,) if part else ()))
        for n, part in enumerate(fitted, start=1)
    )  # fmt: skip


def test_two_parts_of_one_model_are_told_apart_by_the_end_of_the_serial() -> None:
    names = [run.inventory.parts[0].name for run in called.named(_runs(DRIVE, OTHER))]
    assert names == ["Ostrevar N4 (…9917)", "Ostrevar N4 (…4420)"]
    alone = called.named(_runs(DRIVE, DRIVE))
    assert {run.inventory.parts[0].name for run in alone} == {"Ostrevar N4"}
    assert called.named(called.named(_runs(DRIVE, OTHER))) == called.named(_runs(DRIVE, OTHER))


def test_a_place_keeps_its_name_when_it_is_empty() -> None:
    names = [run.inventory.places[0].name for run in called.named(_runs(DRIVE, None))]
    assert names == ["drive slot (A)"] * 2


@pytest.mark.slow
def test_a_swap_is_told_with_both_names(tmp_path: Path) -> None:
    """Not “swapped (drive X -> drive X)”."""
    tables = knowledge.load()
    told = 0
    for step in demo.play(tmp_path, tables):
        loaded = step.saved.loaded
        names = Names(loaded.runs, tables)
        for swap in locate_case(loaded, tables).swaps:
            line = change(swap, names)
            if " -> " in line:
                before, after = line.partition(": ")[2].partition("(")[2][:-1].split(" -> ")
                assert before != after, line
            told += swap.change == "swapped"
    assert told
