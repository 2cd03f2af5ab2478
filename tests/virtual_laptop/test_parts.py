"""What the virtual laptop is made of, without starting it."""

from __future__ import annotations

import gzip
import shutil
from pathlib import Path

import pytest

from livecheck.inventory.slots import address, made_for
from livecheck.inventory.smbios_decode import parse
from livecheck.recorder import openings
from tests.console import psf
from tests.virtual_laptop import acpi, command, faults, screen, smbios
from tests.virtual_laptop.guest import FONT
from tests.virtual_laptop.laptop import ROOT_PORTS, Adapter, Laptop, place_id
from tests.virtual_laptop.scenarios import ALL, SATA, SOUND
from tests.virtual_laptop.stick import case_folders

LINES = ["livecheck: SATA port 1, 97 %", "  │ ä ß ° µ Ω", "", "Next: N"]


@pytest.fixture
def font() -> str:
    if not (psf.FOLDER / f"{FONT}.psf.gz").exists():
        pytest.skip(f"{FONT} is not on this machine (package console-setup-linux)")
    return FONT


def drawn(lines: list[str], font: str, ink: bytes, paper: bytes) -> bytes:
    """A pixmap of the lines, drawn dot by dot from the font."""
    shapes, height = screen.glyphs(font)
    by_character = {character: shape for shape, character in shapes.items()}
    columns = max(map(len, lines))
    dots = b""
    for line in lines:
        for y in range(height):
            for character in line.ljust(columns):
                bits = by_character[character][y]
                dots += b"".join(ink if bits & 0x80 >> x else paper for x in range(8))
    return b"P6\n%d %d\n255\n" % (columns * 8, len(lines) * height) + dots


def test_screen_is_read_back_as_it_was_drawn(font: str) -> None:
    characters = psf.characters(font)
    lines = ["".join(c for c in line if c in characters or c == " ").rstrip() for line in LINES]
    for ink, paper in ((b"\xaa\xaa\xaa", b"\0\0\0"), (b"\0\0\0", b"\xff\xff\xff")):
        picture = screen.Picture(drawn(lines, font, ink, paper))
        assert screen.read(picture, font) == lines


def test_a_cell_that_is_no_glyph_is_told(font: str) -> None:
    data = bytearray(drawn(["abc"], font, b"\xff\xff\xff", b"\0\0\0"))
    data[-3:] = b"\xff\xff\xff" if data[-3:] == b"\0\0\0" else b"\0\0\0"
    assert screen.read(screen.Picture(bytes(data)), font) == ["ab" + screen.UNREAD]


def test_glyphs_are_those_of_the_file(font: str) -> None:
    """PC Screen Font 1: magic 36 04, mode, height (kbd, psf.h)."""
    data = gzip.decompress((psf.FOLDER / f"{font}.psf.gz").read_bytes())
    shapes, height = screen.glyphs(font)
    if data[:2] == b"\x36\x04":
        assert height == data[3]
    assert set(shapes.values()) - {" "} <= psf.characters(font)
    assert set("abcXYZ0189%:") <= set(shapes.values())


def test_modules_are_decoded_as_fitted() -> None:
    """Structure types by DSP0134: 16 array, 17 device, 20 mapped address of a device."""
    blobs = smbios.memory(SOUND)
    assert [blob[0] for blob in blobs] == [16, 17, 20, 17, 20]
    for blob in blobs:
        assert blob[1] <= len(blob) - 2 and blob.endswith(b"\0\0")
    texts = [blob[blob[1] :] for blob in blobs if blob[0] == 17]
    assert b"DIMM A" in texts[0] and b"MA0001" in texts[0] and b"MA0002" in texts[1]
    ranges = [blob[4:12] for blob in blobs if blob[0] == 20]
    ends = [(int.from_bytes(r[:4], "little"), int.from_bytes(r[4:], "little")) for r in ranges]
    assert ends == [(0, 512 * 1024 - 1), (512 * 1024, 1024 * 1024 - 1)]


def test_slots_are_decoded_as_the_board_has_them() -> None:
    """Our reader is held against dmidecode elsewhere; here it reads the virtual laptop's table."""
    found = parse(b"".join(smbios.slots()), None)
    assert [slot.name for slot in found.slots] == ["M.2 SSD", "M.2 WLAN"]
    assert tuple(address(slot) for slot in found.slots) == ROOT_PORTS
    assert [made_for(slot) for slot in found.slots] == ["drive", "wireless-card"]


def test_acpi_table_compiles_and_adds_up(tmp_path: Path) -> None:
    """All bytes of a table add up to nought (ACPI 6.5, 5.2.6)."""
    if shutil.which("iasl") is None:
        pytest.skip("iasl is not on this machine (package acpica-tools)")
    table = acpi.compiled(tmp_path, command.PAGE, "7731").read_bytes()
    assert table[:4] == b"SSDT" and int.from_bytes(table[4:8], "little") == len(table)
    assert sum(table) % 256 == 0
    assert command.PAGE.to_bytes(4, "little") in table


def test_page_holds_what_was_set(tmp_path: Path) -> None:
    memory = tmp_path / "memory"
    memory.write_bytes(bytes(8192))
    page = acpi.Page(memory, 4096)
    page.set(ONLN=1, VOLT=11_600)
    page.celsius(45.0)
    page.close()
    words = [int.from_bytes(memory.read_bytes()[4096 + n : 4100 + n], "little")
             for n in range(0, 4 * len(acpi.FIELDS), 4)]  # fmt: skip
    told = {"ONLN": 1, "VOLT": 11_600, "TEMP": 3182}
    assert dict(zip(acpi.FIELDS, words, strict=True)) == dict.fromkeys(acpi.FIELDS, 0) | told


def test_a_fault_follows_its_part_or_stays() -> None:
    moved = SOUND.swapped(ata_0=None, ata_1=SATA)
    part, port = (faults.Unreadable(at=at, sectors=(1,)) for at in ("alder", "ata:0"))
    assert [part.place(SOUND), part.place(moved)] == ["ata:0", "ata:1"]
    assert [port.place(SOUND), port.place(moved)] == ["ata:0", None]


def test_cases_are_told_apart_and_their_faults_lie_somewhere() -> None:
    assert len({scenario.name for scenario in ALL}) == len(ALL)
    for scenario in ALL:
        for fault in scenario.hidden:
            assert any(fault.place(start.laptop) for start in scenario.starts), scenario.name


def test_swapped_changes_nothing_else() -> None:
    other: Laptop = SOUND.swapped(jack=Adapter(name="other"))
    assert {p for p in SOUND.fitted if other.fitted[p] != SOUND.fitted[p]} == {"jack"}
    assert place_id("dimm:1") == "dimm:DIMM B"


def test_cases_of_a_drive_are_not_the_recorder_s_notes(tmp_path: Path) -> None:
    """A start that saved nothing has left no case, though the recorder left its folder."""
    cases = tmp_path / "livecheck-cases"
    (cases / openings.FOLDER).mkdir(parents=True)
    assert case_folders(tmp_path) == []
    (cases / "2026-01-01-C1").mkdir()
    assert case_folders(tmp_path) == [cases / "2026-01-01-C1"]
