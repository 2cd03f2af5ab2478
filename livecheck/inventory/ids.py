"""Names of vendors, devices and classes by the ID databases (hwdata).

The files are read through the host, so a replayed machine shows the names it
showed when it was recorded. A missing file, vendor or device is None.

Format (the files' own head): vendors start at column 0, ``8086  Name``; devices
are behind one tab, subsystems behind two; classes are ``C 02  Name`` with
subclasses behind one tab and programming interfaces behind two.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.host import Host, Unreadable

FOLDERS: Final = ("/usr/share/hwdata", "/usr/share/misc")


class IdDatabase:
    """Looks names up in the texts of pci.ids, usb.ids and pnp.ids; any may be absent."""

    def __init__(self, pci: bytes = b"", usb: bytes = b"", pnp: bytes = b"") -> None:
        self._texts = {"pci": b"\n" + pci, "usb": b"\n" + usb, "pnp": b"\n" + pnp}
        self._blocks: dict[tuple[str, str], tuple[str, dict[str, str]] | None] = {}

    def _block(self, text: str, head: str) -> tuple[str, dict[str, str]] | None:
        """Name and direct children (id -> name) of a top-level entry."""
        key = (text, head)
        if key not in self._blocks:
            self._blocks[key] = _parse_block(self._texts[text], head)
        return self._blocks[key]

    def _name(self, text: str, head: str, child: str | None) -> str | None:
        block = self._block(text, head)
        if block is None:
            return None
        return block[0] if child is None else block[1].get(child)

    def pci_vendor(self, vendor: int) -> str | None:
        return self._name("pci", f"{vendor:04x}", None)

    def pci_device(self, vendor: int, device: int) -> str | None:
        return self._name("pci", f"{vendor:04x}", f"{device:04x}")

    def pci_class(self, code: int) -> str | None:
        """Name of a class and subclass, such as 0x0106; the class's own where that has none."""
        head = f"C {code >> 8:02x}"
        return self._name("pci", head, f"{code & 0xFF:02x}") or self._name("pci", head, None)

    def usb_vendor(self, vendor: int) -> str | None:
        return self._name("usb", f"{vendor:04x}", None)

    def usb_product(self, vendor: int, product: int) -> str | None:
        return self._name("usb", f"{vendor:04x}", f"{product:04x}")

    def pnp_vendor(self, maker: str) -> str | None:
        """Maker of a three-letter PNP id, as EDID and ACPI carry it."""
        if not re.fullmatch(r"[A-Z@]{3}", maker):
            return None
        found = re.search(rb"\n" + maker.encode() + rb"\t([^\n]+)", self._texts["pnp"])
        return found[1].decode("utf-8", "replace").strip() if found else None


_CHILD: Final = re.compile(rb"\n\t([0-9a-f]{2,4})  ([^\n]+)")


def _parse_block(text: bytes, head: str) -> tuple[str, dict[str, str]] | None:
    start = text.find(b"\n" + head.encode() + b"  ")
    if start < 0:
        return None
    line_end = text.find(b"\n", start + 1)
    line_end = len(text) if line_end < 0 else line_end
    # The block ends at the next line that neither starts with a tab nor is a comment.
    after = re.compile(rb"\n[^\t#\n]").search(text, line_end)
    block = text[line_end : after.start() if after else len(text)]
    name = text[start + len(head) + 3 : line_end].decode("utf-8", "replace").strip()
    children = {
        m[1].decode(): m[2].decode("utf-8", "replace").strip() for m in _CHILD.finditer(block)
    }
    return name, children


def load(host: Host) -> IdDatabase:
    """The databases of the host."""
    return IdDatabase(**{kind: _first(host, f"{kind}.ids") for kind in ("pci", "usb", "pnp")})


def _first(host: Host, name: str) -> bytes:
    for folder in FOLDERS:
        try:
            return host.read(f"{folder}/{name}")
        except Unreadable:
            continue
    return b""
