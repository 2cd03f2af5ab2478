"""EDIDs of real screens, as Debian's sources carry them, against edid-decode's reading of each.

Sources: edid-decode's own ``data/`` (MIT), libdisplay-info's ``test/data/`` (CC-BY-4.0 and MIT)
and Parse-EDID's ``t/edid/`` (GPL-3). None of them is kept here.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Final

import pytest

from livecheck.inventory.edid import Edid, parse
from tests import datasets

EDID_DECODE: Final = (
    "pool/main/e/edid-decode/edid-decode_0.1~git20220315.cb74358c2896.orig.tar.xz",
    "3cb9903663d71b571480ec5cfd88c4c8dd3e77d352b3e2533c3426d61ae296b2",
)
DISPLAY_INFO: Final = (
    "pool/main/libd/libdisplay-info/libdisplay-info_0.2.0.orig.tar.bz2",
    "f6cf2ddbba3753ae38de5113d1fcb8fab977dfaf5fb07b38cd68d8482765e208",
)
PARSE_EDID: Final = (
    "pool/main/libp/libparse-edid-perl/libparse-edid-perl_1.0.7.orig.tar.gz",
    "1adc0f105a32198a2a2b4da5b0e0f985f05efed99ce366190a790e165d675bf1",
)

UNUSED_SERIAL: Final = str(0x01010101)
"""edid-decode prints it; here it is taken for no number, as the standard's filler."""


@cache
def files() -> tuple[Path, ...]:
    """Every recorded EDID that begins as one does."""
    found = [*(datasets.debian_source(*EDID_DECODE) / "data").iterdir()]
    found += (datasets.debian_source(*DISPLAY_INFO) / "test" / "data").glob("*.edid")
    found += (datasets.debian_source(*PARSE_EDID) / "t" / "edid").iterdir()
    header = bytes.fromhex("00ffffffffffff00")
    return tuple(p for p in sorted(found) if p.read_bytes().startswith(header))


@cache
def decoded() -> dict[Path, str]:
    """What edid-decode says of each; what it refuses whole is left out."""
    program = shutil.which("edid-decode")
    assert program, "edid-decode is the reference of these tests: install it"
    said = {
        path: subprocess.run([program, path], capture_output=True, text=True, check=False).stdout
        for path in files()
    }
    return {path: words for path, words in said.items() if "Manufacturer:" in words}


def _size(edid: Edid) -> str | None:
    mode = edid.preferred
    return f"{mode.width}x{mode.height}" if mode else None


def _rate(edid: Edid) -> str | None:
    return f"{edid.preferred.refresh_hz:.6f}" if edid.preferred else None


def _made(edid: Edid) -> str | None:
    # A year byte of 0 is 1990, before there was an EDID: here it is taken for none.
    year = edid.year or 1990
    if edid.model_year:
        return f"Model year: {year}"
    return f"Made in: week {edid.week} of {year}" if edid.week else f"Made in: {year}"


FIELDS: Final[dict[str, tuple[str, Callable[[Edid], object]]]] = {
    "maker": (r"Manufacturer: (\S+)", lambda e: e.maker),
    "product": (r"\n    Model: (\d+)", lambda e: e.product),
    "serial number": (r"\n    Serial Number: (\d+)", lambda e: e.serial_number),
    "serial text": (r"Display Product Serial Number: '(.*)'", lambda e: e.serial),
    "name": (r"Display Product Name: '(.*)'", lambda e: e.name),
    "version": (r"EDID Structure Version & Revision: (\S+)",
                lambda e: "{}.{}".format(*(e.version or ()))),
    "made": (r"(Made in: .*|Model year: .*)", _made),
    "extensions": (r"Extension blocks: (\d+)", lambda e: e.extensions or None),
    "size": (r"DTD 1: +(\d+x\d+)", _size),
    "rate": (r"DTD 1: +\S+ +([\d.]+) Hz", _rate),
}  # fmt: skip


def test_there_are_two_hundred() -> None:
    assert len(decoded()) >= 200
    assert len(files()) - len(decoded()) <= 2, "edid-decode refuses 129 bytes, and one of 2023"


@pytest.mark.parametrize("field", FIELDS)
def test_a_field_is_what_edid_decode_reads(field: str) -> None:
    pattern, ours = FIELDS[field]
    wrong = {}
    for path, words in decoded().items():
        found = re.search(pattern, words)
        wanted = found[1].strip() if found and found[1] != UNUSED_SERIAL else None
        read = ours(parse(path.read_bytes()))
        if (None if read is None else str(read)) != (wanted or None):
            wrong[path.name] = (wanted, read)
    assert wrong == {}


def test_a_wrong_checksum_is_found_where_edid_decode_finds_it() -> None:
    for path, words in decoded().items():
        told = len(re.findall(r"Checksum: 0x\w+ \(should be", words))
        edid = parse(path.read_bytes())
        assert len(edid.bad_checksums) == told, path.name
