"""Machine-check status words mean what the maker's tables say.

``PUBLISHED``: status words and their decodings as the kernel's own decoding tool of that time
printed them, posted in public threads. ``TABLES``: one word for each row of the tables "Simple
Error Codes" and "Compound Error Codes" of the Intel SDM, volume 3, chapter "Interpreting
Machine Check Error Codes", as that tool's generic decoder reads them.
"""

from __future__ import annotations

import pytest

from livecheck.kernel_log import mce_status

# fmt: off
PUBLISHED = [
    # status, kind, corrected, context lost, overflow, words of the published decoding
    (0x90000040000F0005, "internal", True, False, False, "Internal parity error"),
    (0x9C00004001010090, "memory", True, False, False, "Memory read error, channel 0"),
    (0x8C000051000800C2, "memory", True, False, False, "Memory scrubbing error, channel 2"),
    (0x88000040000200CF, "memory", True, False, False, "Memory scrubbing error, unspecified"),
    (0xBE00000000800400, "internal timer", False, True, False, "Internal Timer error"),
    (0xB200000000400005, "internal", False, True, False, "Internal parity error"),
    (0x8C000045000800C0, "memory", True, False, False, "Memory scrubbing error, channel 0"),
    (0x8800000000000080, "memory", True, False, False, "Generic undefined request, channel 0"),
    (0xFD001DC0001000C1, "memory", False, False, True, "Memory scrubbing error, channel 1"),
    (0xB00000000800009F, "memory", False, False, False, "Memory read error, unspecified"),
    (0xCC0004800001009F, "memory", True, False, True, "Memory read error, unspecified"),
    (0xB200000000100402, "internal", False, True, False, "Internal unclassified error: 402"),
    (0xA200000084010400, "internal timer", False, True, False, "Internal Timer error"),
    (0x9000000020000003, "bus", True, False, False, "External error"),
    (0xA600000007600410, "internal", False, True, False, "Internal unclassified error: 410"),
    (0xEE0000000040110A, "cache", False, True, True, "Generic CACHE Level-2 Generic Error"),
    (0xF200084000000800, "bus", False, True, True, "BUS Level-0 Memory-access"),
    (0xB200004000000800, "bus", False, True, False, "BUS Level-0 Memory-access"),
    (0xAE00030010020C03, "bus", False, True, False, "BUS Level-3 Memory-access"),
    (0x8C20004000101179, "cache", True, False, False, "Generic CACHE Level-1 Eviction Error"),
]

TABLES = [
    (0x0001, "internal", "unclassified"),
    (0x0002, "internal", "microcode"),
    (0x0004, "internal", "master and checker"),
    (0x0005, "internal", "parity"),
    (0x0006, "internal", "firmware code"),
    (0x000C, "cache", "L0"),
    (0x000D, "cache", "L1"),
    (0x000E, "cache", "L2"),
    (0x0010, "address translation", "instruction"),
    (0x0014, "address translation", "data"),
    (0x0019, "address translation", "generic"),
    (0x001A, "address translation", "L2"),
    (0x0085, "memory", "undefined request, channel 5"),
    (0x009F, "memory", "read"),
    (0x00A1, "memory", "write, channel 1"),
    (0x00B3, "memory", "address or command, channel 3"),
    (0x00CF, "memory", "scrubbing"),
    (0x0115, "cache", "data cache, L1, generic read"),
    (0x0118, "cache", "generic cache, L0, generic read"),
    (0x0125, "cache", "data cache, L1, generic write"),
    (0x0135, "cache", "data cache, L1, data read"),
    (0x0146, "cache", "data cache, L2, data write"),
    (0x0151, "cache", "instruction cache, L1, instruction fetch"),
    (0x0166, "cache", "data cache, L2, prefetch"),
    (0x017A, "cache", "generic cache, L2, eviction"),
    (0x0186, "cache", "data cache, L2, snoop"),
    (0x0405, "internal", "unclassified"),
    (0x0801, "bus", "generic error, L1"),
    (0x0813, "bus", "generic read"),
    (0x0A0F, "bus", "generic error"),
    (0x0E0B, "input and output", "input or output"),
    (0x0E33, "bus", "data read"),
    (0x1119, "cache", "generic cache, L1, generic read"),
]
# fmt: on


@pytest.mark.parametrize(("status", "kind", "corrected", "lost", "overflow", "told"), PUBLISHED)
def test_published_decodings_agree(
    status: int, kind: str, corrected: bool, lost: bool, overflow: bool, told: str
) -> None:
    """Kind, and the bits for corrected, context lost and overflow; channel and level in words."""
    found = mce_status.decode(status)
    assert (found.kind, found.corrected) == (kind, corrected)
    assert (found.context_lost, found.overflow) == (lost, overflow)
    if "channel" in told:
        assert found.says.endswith(told.partition(", ")[2])
    if "Level-1" in told or "Level-2" in told:
        assert f"L{told.partition('Level-')[2][0]}" in found.says


@pytest.mark.parametrize(("code", "kind", "words"), TABLES)
def test_every_row_of_the_tables_has_its_kind(code: int, kind: str, words: str) -> None:
    """The kind says which unit reported: cache, translation, memory, bus, timer, inside."""
    found = mce_status.decode(1 << 63 | code)
    assert found.kind == kind
    assert words in found.says


def test_the_count_is_of_corrected_errors_only() -> None:
    """Bits 52:38 (SDM: corrected error count); 0x8c00004f… counts one, 0xcc0004800… eighteen."""
    assert mce_status.decode(0x8C00004F000800C2).counted == 1
    assert mce_status.decode(0xCC0004800001009F).counted == 18
    assert mce_status.decode(0xB200004000000800).counted is None


def test_a_code_of_no_table_is_unknown() -> None:
    """Nothing is guessed at."""
    assert mce_status.decode(1 << 63 | 0x0040).kind == "unknown"


def test_severity_by_the_bits_for_uncorrected_and_context_lost() -> None:
    """SDM: UC is bit 61, PCC bit 57; without UC the hardware repaired it."""
    valid, uncorrected, lost = 1 << 63, 1 << 61, 1 << 57
    assert mce_status.decode(valid | 0x9F).severity == "corrected"
    assert mce_status.decode(valid | uncorrected | 0x9F).severity == "not corrected"
    assert mce_status.decode(valid | uncorrected | lost | 0x9F).severity == "fatal"
