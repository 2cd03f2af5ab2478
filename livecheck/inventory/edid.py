"""What a screen says of itself: EDID 1.x (VESA Enhanced EDID Standard, release A2).

A screen's memory is read over the same thin wires as its picture, so a block whose
checksum is wrong is a sign of its own. Nothing here raises: what is broken is a
sentence in ``damage``.
"""

from __future__ import annotations

from typing import Final

import msgspec

BLOCK: Final = 128
HEADER: Final = bytes.fromhex("00ffffffffffff00")
DESCRIPTORS: Final = (54, 72, 90, 108)
UNUSED: Final = b"\x01" * 18
"""What old screens fill descriptors with that they do not need."""


class Mode(msgspec.Struct, frozen=True, kw_only=True):
    """One detailed timing."""

    width: int
    height: int
    refresh_hz: float
    pixel_clock_hz: int
    interlaced: bool
    width_mm: int | None
    height_mm: int | None


class Edid(msgspec.Struct, frozen=True, kw_only=True):
    """The base block, and how many extensions follow it."""

    version: tuple[int, int] | None = None
    maker: str | None = None
    """Three letters of the PNP list (hwdata's pnp.ids names them)."""
    product: int | None = None
    serial_number: int | None = None
    """None for 0 and for 01010101h, which say that it is not used."""
    serial: str | None = None
    """Serial number as text, from a descriptor."""
    name: str | None = None
    texts: tuple[str, ...] = ()
    """Free text descriptors; panels of laptops write their model there."""
    week: int | None = None
    year: int | None = None
    model_year: bool = False
    """True: ``year`` is that of the model, not of the making."""
    width_mm: int | None = None
    height_mm: int | None = None
    preferred: Mode | None = None
    extensions: int = 0
    """As announced."""
    blocks: int = 0
    """Whole blocks that were read."""
    header_good: bool = False
    bad_checksums: tuple[int, ...] = ()
    """Numbers of the blocks whose bytes do not sum to 0."""
    damage: tuple[str, ...] = ()


def parse(data: bytes) -> Edid:
    """An EDID as the kernel or the screen gave it. Never raises."""
    if len(data) < BLOCK:
        return Edid(damage=(f"The EDID is {len(data)} bytes long; a block has {BLOCK}.",))
    header_good = data.startswith(HEADER)
    blocks = len(data) // BLOCK
    bad = tuple(n for n in range(blocks) if sum(data[n * BLOCK : (n + 1) * BLOCK]) & 0xFF)
    texts = _texts(data)
    timing = _mode(data[54:72])
    # The timing counts in millimetres, the base block in whole centimetres.
    exact = timing is not None and timing.width_mm and timing.height_mm
    year, week = data[17] + 1990, data[16]
    return Edid(
        version=(data[18], data[19]),
        maker=maker(int.from_bytes(data[8:10], "big")),
        product=int.from_bytes(data[10:12], "little"),
        serial_number=_serial_number(data),
        serial=next((t for kind, t in texts if kind == 0xFF), None),
        name=next((t for kind, t in texts if kind == 0xFC), None),
        texts=tuple(t for kind, t in texts if kind == 0xFE),
        week=week if 1 <= week <= 54 else None,
        year=year if data[17] else None,
        model_year=week == 0xFF,
        width_mm=timing.width_mm if timing and exact else _millimetres(data, 21),
        height_mm=timing.height_mm if timing and exact else _millimetres(data, 22),
        preferred=timing,
        extensions=data[126],
        blocks=blocks,
        header_good=header_good,
        bad_checksums=bad,
        damage=tuple(_damage(data, header_good, bad, blocks)),
    )


def _damage(data: bytes, header_good: bool, bad: tuple[int, ...], blocks: int) -> list[str]:
    found = []
    if not header_good:
        found.append("The EDID does not start with its fixed header.")
    found += [f"The checksum of EDID block {n} is wrong." for n in bad]
    if blocks < data[126] + 1:
        found.append(f"The EDID announces {data[126]} extension blocks, {blocks - 1} were read.")
    return found


def maker(code: int) -> str | None:
    """Three letters of five bits each, A = 1; None for what are no letters."""
    letters = [(code >> shift) & 0x1F for shift in (10, 5, 0)]
    # 31 is no letter of the standard, but one maker's underscore.
    if code & 0x8000 or not all(1 <= n <= 26 or n == 31 for n in letters):
        return None
    return "".join(chr(n + 64) for n in letters)


def _serial_number(data: bytes) -> int | None:
    number = int.from_bytes(data[12:16], "little")
    return None if number in (0, 0x01010101, 0xFFFFFFFF) else number


def _millimetres(data: bytes, offset: int) -> int | None:
    # One of the two is 0 where EDID 1.4 gives an aspect ratio in their place.
    return data[offset] * 10 if data[21] and data[22] else None


def _texts(data: bytes) -> list[tuple[int, str]]:
    """Descriptors that hold text: their tag, and the text up to its line feed."""
    found = []
    for start in DESCRIPTORS:
        block = data[start : start + 18]
        if block[:3] == b"\0\0\0" and block[3] in (0xFC, 0xFE, 0xFF):
            written = block[5:].partition(b"\n")[0].decode("cp437").strip("\0 ")
            if written:
                found.append((block[3], written))
    return found


def _mode(block: bytes) -> Mode | None:
    """A detailed timing; None for a descriptor of another kind or an impossible timing."""
    if block == UNUSED:
        return None
    clock = int.from_bytes(block[:2], "little") * 10_000
    width, blank = block[2] | (block[4] & 0xF0) << 4, block[3] | (block[4] & 0x0F) << 8
    height, gap = block[5] | (block[7] & 0xF0) << 4, block[6] | (block[7] & 0x0F) << 8
    if not clock or not width or not height:
        return None
    across, down = block[12] | (block[14] & 0xF0) << 4, block[13] | (block[14] & 0x0F) << 8
    interlaced = bool(block[17] & 0x80)
    # Interlaced timings count the lines of one field, which is one half line longer.
    lines = height + gap + (0.5 if interlaced else 0.0)
    return Mode(
        width=width,
        height=height * 2 if interlaced else height,
        refresh_hz=clock / ((width + blank) * lines),
        pixel_clock_hz=clock,
        interlaced=interlaced,
        width_mm=across or None,
        height_mm=down or None,
    )
