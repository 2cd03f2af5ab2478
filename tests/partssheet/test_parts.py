"""The parts sheet: what is known is told, the rest is asked for; its code is read back."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from livecheck import cli, demo, knowledge, partssheet
from livecheck.partssheet.qr import FULL, LOWER, NONE, UPPER
from livecheck.partssheet.sheet import PartsSheet, sheet_of
from livecheck.partssheet.table import units
from livecheck.records import Candidate, Side
from livecheck.saving import Saved
from tests import factories, variants

TABLES = knowledge.load()


def decoded(dark: np.ndarray) -> str:
    """What an independent reader (the ZXing library) sees in a picture of modules."""
    zxingcpp = pytest.importorskip("zxingcpp", reason="zxing-cpp is not installed")
    picture = np.kron(np.where(dark, 0, 255), np.ones((4, 4))).astype(np.uint8)
    found = zxingcpp.read_barcodes(picture)
    assert [f.format.name for f in found] == ["QRCode"]
    return str(found[0].text)


def drawn(svg: str) -> np.ndarray:
    """The inline image as modules, from its own rectangles."""
    root = ElementTree.fromstring(svg)
    side = int(root.attrib["viewBox"].split()[-1])
    dark = np.zeros((side, side), bool)
    for x, y, width in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", root[1].attrib["d"]):
        dark[int(y), int(x) : int(x) + int(width)] = True
    return dark


def on_screen(lines: tuple[str, ...]) -> np.ndarray:
    """Cells of a dark screen as modules: a block is light."""
    halves = {FULL: (0, 0), UPPER: (0, 1), LOWER: (1, 0), NONE: (1, 1)}
    rows = []
    for line in lines:
        rows += [[halves[c][0] for c in line], [halves[c][1] for c in line]]
    return np.pad(np.array(rows, bool), 8, constant_values=True)


TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), min_size=1,
                max_size=150)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(TEXTS)
def test_codes_are_read_back_by_another_library(content: str) -> None:
    assert decoded(drawn(partssheet.qr_svg(content, "x"))) == content


@settings(max_examples=40, deadline=None)
@given(st.text("ABCdef 0123:.-\n", min_size=1, max_size=100))
def test_codes_on_the_screen_are_read_back(content: str) -> None:
    lines = partssheet.qr_lines(content, 78, 24)
    assert lines is not None
    assert len(lines) <= 24
    assert decoded(on_screen(lines)) == content


def test_a_code_without_room_is_none() -> None:
    assert partssheet.qr_lines("x" * 300, 78, 20) is None
    assert partssheet.qr_lines("x" * 9000, 1000, 1000) is None


def test_blocks_are_in_the_font_of_the_console() -> None:
    """Code page 437 holds them (Unicode Consortium, CP437.TXT), as the console's fonts do."""
    for glyph in (FULL, UPPER, LOWER):
        assert glyph.encode("cp437")


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Saved]:
    folder: Path = tmp_path_factory.mktemp("demo")
    return {step.saved.loaded.case.id: step.saved for step in demo.play(folder, TABLES)}


def the_sheet(saved: Saved, kind: str, component: str) -> PartsSheet:
    candidate = Candidate(component=component, kind=kind, unit=kind, side=Side.DEVICE,
                          probability=1.0)  # fmt: skip
    return sheet_of(saved.loaded.case, saved.loaded.runs, candidate, TABLES)


def known(sheet: PartsSheet) -> dict[str, str | None]:
    return {line.label: line.value for line in sheet.lines}


def test_a_mainboard(played: dict[str, Saved]) -> None:
    """The demo's first case orders one: what its firmware tells, and what must be read off."""
    saved = next(iter(played.values()))
    sheets = partssheet.sheets(saved.loaded.case, saved.loaded.runs, saved.location, TABLES)
    (sheet,) = [s for s in sheets if s.kind == "mainboard"]
    told = known(sheet)
    machine = saved.loaded.case.machine
    assert told["Board model"] == machine.board_product
    assert told["Board version"] == machine.board_version
    assert told["Processor"] == machine.processor
    assert told["Memory slots"] == "2 (SODIMM)"
    assert told["Number printed on the board"] is None
    assert "read it off the board" in sheet.text
    assert "hundred sub-models" in sheet.text
    assert {c.name for c in sheet.cautions} == {"static", "board"}
    assert str(machine.board_product) in sheet.code
    assert decoded(drawn(partssheet.qr_svg(sheet.code, "x"))) == sheet.code


def test_a_drive_a_module_a_battery(played: dict[str, Saved]) -> None:
    """By the attributes the inventory read; compared with the captures' own figures."""
    saved = next(iter(played.values()))
    parts = {part.kind: part for part in saved.loaded.runs[-1].inventory.parts}
    drive = known(the_sheet(saved, "drive", parts["drive"].id))
    assert drive["Interface"] == "SATA"
    assert drive["Capacity"] == "480\u00a0GB"
    assert drive["Keying"] is None
    assert the_sheet(saved, "drive", parts["drive"].id).cautions[0].name == "data"
    module = known(the_sheet(saved, "memory-module", parts["memory-module"].id))
    assert (module["Type"], module["Form factor"]) == ("DDR4", "SODIMM")
    assert module["Size"] == "8\u00a0GiB"
    assert module["Voltage"] == "1.2\u00a0V"
    assert module["Error correction"] == "no"
    battery = the_sheet(saved, "battery", parts["battery"].id)
    assert known(battery)["Nominal voltage"] == "11.4\u00a0V"
    assert known(battery)["Design capacity"] == "50\u00a0Wh"
    assert [c.name for c in battery.cautions] == ["cell"]
    adapter = the_sheet(saved, "adapter", "adapter@jack:AC")
    assert known(adapter)["Voltage"] is None
    assert "read the output off its label" in adapter.text


def test_nothing_is_ordered_while_nothing_is_determined() -> None:
    whole = factories.undetermined()
    undecided = msgspec.structs.replace(whole.location, unit=None)
    assert partssheet.sheets(whole.case, whole.runs, undecided, TABLES) == ()
    contact = msgspec.structs.replace(whole.location, unit="contact", candidates=())
    assert partssheet.sheets(whole.case, whole.runs, contact, TABLES) == ()


@pytest.mark.parametrize("make", variants.VARIANTS.values(), ids=variants.VARIANTS.keys())
@pytest.mark.parametrize("kind", [*units(), "keyboard", "no-such-kind"])
def test_any_case_gives_a_sheet(make: object, kind: str) -> None:
    """Hostile, empty or damaged: a sheet comes out, and no control character gets through."""
    assert callable(make)
    whole = make()
    candidate = Candidate(component=f"{kind}@nowhere", kind=kind, unit=kind, side=Side.DEVICE,
                          probability=1.0)  # fmt: skip
    sheet = sheet_of(whole.case, whole.runs, candidate, TABLES)
    assert sheet.text.replace("\n", "").isprintable() or "\u00a0" in sheet.text
    assert "\x1b" not in sheet.text


def test_the_table_is_whole() -> None:
    """Kinds and cautions exist; what is looked for in a run is spelt as the inventory spells it."""
    source = "".join(
        p.read_text("utf-8") for p in Path(demo.__file__).parents[1].rglob("*.py")
        if "inventory" in p.parts or "partssheet" in p.parts or "records" in p.parts
    )  # fmt: skip
    for kind, row in units().items():
        assert kind == "other" or kind in TABLES.kinds
        assert set(row.cautions) <= set(TABLES.cautions)
        for name in (n for trait in row.traits for n in trait.of):
            word = name.rpartition(".")[2]
            assert f'"{word}"' in source or f"    {word}:" in source, name


def test_a_case_that_is_open_orders_nothing_yet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Not the same as nothing to order: what is at fault is not known."""
    source = Path(demo.__file__).parent / "contact-1.capture.gz"
    words = ["run", "--from", str(source), "--complaint", "part-missing", "--shop", str(tmp_path)]
    assert cli.main(words) == 0
    capsys.readouterr()
    (case,) = tmp_path.glob("livecheck-cases/*/case.json")
    assert cli.main(["parts", str(case.parent)]) == 0
    assert "not settled" in capsys.readouterr().out
