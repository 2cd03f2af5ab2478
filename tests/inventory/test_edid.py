"""EDID blocks against edid-decode's reading of the same bytes, and broken ones."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from livecheck.inventory.edid import maker, parse
from tests.inventory import edid_builder as build


def edid_decode(path: Path, data: bytes) -> str:
    program = shutil.which("edid-decode")
    assert program, "edid-decode is the reference of these tests: install it"
    (path / "edid.bin").write_bytes(data)
    done = subprocess.run([program, path / "edid.bin"], capture_output=True, text=True, check=False)
    return done.stdout


def told(pattern: str, words: str) -> str:
    found = re.search(pattern, words)
    assert found, f"edid-decode says nothing like {pattern}"
    return found[1]


def test_every_field_is_what_edid_decode_tells(tmp_path: Path) -> None:
    data = build.panel(extensions=1) + build.extension()
    mine, words = parse(data), edid_decode(tmp_path, data)
    assert mine.maker == told(r"Manufacturer: (\S+)", words)
    assert str(mine.product) == told(r"Model: (\d+)", words)
    assert str(mine.serial_number) == told(r"\n    Serial Number: (\d+)", words)
    assert f"week {mine.week} of {mine.year}" == told(r"Made in: (.*)", words)
    assert "{}.{}".format(*(mine.version or ())) == told(r"Version & Revision: (\S+)", words)
    assert mine.name == told(r"Display Product Name: '(.*)'", words)
    assert mine.serial == told(r"Display Product Serial Number: '(.*)'", words)
    assert mine.texts == (told(r"Alphanumeric Data String: '(.*)'", words),)
    assert str(mine.extensions) == told(r"Extension blocks: (\d+)", words)
    mode = mine.preferred
    assert mode is not None
    assert f"{mode.width}x{mode.height}" == told(r"DTD 1: +(\d+x\d+)", words)
    assert f"{mode.refresh_hz:.6f}" == told(r"DTD 1: +\S+ +([\d.]+) Hz", words)
    assert f"{mode.pixel_clock_hz / 1e6:.6f}" == told(r"DTD 1: .* ([\d.]+) MHz", words)
    size = told(r"DTD 1: .*\((\d+ mm x \d+ mm)\)", words)
    assert f"{mine.width_mm} mm x {mine.height_mm} mm" == size
    assert mine.blocks == 2 and mine.header_good and mine.damage == ()


def test_maker_of_the_kernels_built_in_blocks() -> None:
    """Linux drivers/gpu/drm/drm_edid_load.c: bytes 31 D8 are LNX."""
    assert maker(0x31D8) == "LNX"
    assert maker(0) is None
    assert maker(0xFFFF) is None


def test_a_flipped_bit_is_found_where_edid_decode_finds_it(tmp_path: Path) -> None:
    good = build.panel(extensions=1) + build.extension()
    for block, position in ((0, 40), (1, 200)):
        bad = bytearray(good)
        bad[position] ^= 4
        mine = parse(bytes(bad))
        assert mine.bad_checksums == (block,)
        assert mine.damage == (f"The checksum of EDID block {block} is wrong.",)
        assert "should be" in edid_decode(tmp_path, bytes(bad))
    assert "should be" not in edid_decode(tmp_path, good)


def test_an_edid_cut_short_or_without_header_is_told() -> None:
    assert parse(b"").damage == ("The EDID is 0 bytes long; a block has 128.",)
    whole = build.panel(extensions=2)
    assert parse(whole).damage == ("The EDID announces 2 extension blocks, 0 were read.",)
    assert not parse(bytes(128)).header_good
    zeros = parse(bytes(128))
    assert zeros.maker is None and zeros.preferred is None and zeros.year is None


def test_unused_serial_numbers_are_none() -> None:
    assert parse(build.panel(serial=0)).serial_number is None
    assert parse(build.panel(serial=0x01010101)).serial_number is None


@given(st.binary(max_size=300))
def test_no_bytes_raise(data: bytes) -> None:
    parse(data)
