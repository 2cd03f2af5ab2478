"""The firmware's error records (CPER), in the words in which Linux prints them.

Layout: UEFI specification 2.10, appendix N "Common Platform Error Record" (record header,
section descriptor, PCI Express section); kinds of sections: the same, and Linux
``include/linux/cper.h``; words: ``drivers/firmware/efi/cper.c``, ``drivers/acpi/apei/ghes.c``.
What the words mean is ``livecheck.kernel_log``'s to say.
"""

from __future__ import annotations

import struct
import uuid
from collections.abc import Iterator
from typing import Final

_HEAD: Final = struct.Struct("<4sHIHI")
"""Signature, revision, end of the signature, sections, severity."""
_HEAD_LENGTH: Final = 128
_SECTION: Final = struct.Struct("<IIHBBI16s")
"""Offset, length, revision, what of it is valid, a spare byte, flags, kind."""
_SECTION_LENGTH: Final = 72
MOST_SECTIONS: Final = 16
"""Assumed; those seen have three."""

_SEVERITIES: Final = ("recoverable", "fatal", "corrected", "info")
_PCIE: Final = "PCIe error"
_KINDS: Final = {
    uuid.UUID("9876ccad-47b4-4bdb-b65e-16f193c4f3db"): "general processor error",
    uuid.UUID("dc3ea0b0-a144-4797-b95b-53fa242b6e1d"): "IA32_X64 processor error",
    uuid.UUID("a5bc1114-6f64-4ede-b863-3e83ed7c83b1"): "memory error",
    uuid.UUID("d995e954-bbc1-430f-ad91-b44dcb3c6f35"): _PCIE,
}
_IDENTITY: Final = struct.Struct("<BBHB")
"""Of a PCI Express section's device: function, device, segment, bus."""
_IDENTITY_AT: Final = 31
_DEVICE_VALID: Final = 1 << 3


def lines(record: bytes) -> Iterator[str]:
    """The record as the kernel's log would have it; nothing where it is none."""
    if len(record) < _HEAD_LENGTH or not record.startswith(b"CPER"):
        return
    _, _, _, sections, severity = _HEAD.unpack_from(record)
    if severity >= len(_SEVERITIES):
        return
    yield f"event severity: {_SEVERITIES[severity]}"
    for number in range(min(sections, MOST_SECTIONS)):
        at = _HEAD_LENGTH + number * _SECTION_LENGTH
        if at + _SECTION_LENGTH > len(record):
            return
        offset, length, _, _, _, _, kind = _SECTION.unpack_from(record, at)
        name = _KINDS.get(uuid.UUID(bytes_le=kind))
        if name is not None:
            yield f" section_type: {name}"
            yield from _device(record[offset : offset + length]) if name == _PCIE else ()


def _device(section: bytes) -> Iterator[str]:
    """Whom a PCI Express section names."""
    whole = _IDENTITY_AT + _IDENTITY.size
    if len(section) < whole or not section[0] & _DEVICE_VALID:
        return
    function, device, segment, bus = _IDENTITY.unpack_from(section, _IDENTITY_AT)
    yield f"  device_id: {segment:04x}:{bus:02x}:{device & 0x1F:02x}.{function & 7}"
