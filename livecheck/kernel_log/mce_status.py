"""What a machine-check status word says (MCi_STATUS).

Intel SDM volume 3, chapters "Machine-Check Architecture" (the register) and "Interpreting
Machine Check Error Codes" (simple and compound codes); AMD64 APM volume 2, chapter "Machine
Check Architecture". Both share the compound codes of caches, TLBs and buses.
"""

from __future__ import annotations

from typing import Final, NamedTuple

CACHE: Final = "cache"
TLB: Final = "address translation"
MEMORY: Final = "memory"
BUS: Final = "bus"
TIMER: Final = "internal timer"
INTERNAL: Final = "internal"
INPUT_OUTPUT: Final = "input and output"
UNKNOWN: Final = "unknown"

GENERIC: Final = "generic level"
_LEVELS: Final = ("L0", "L1", "L2", GENERIC)
_TRANSACTIONS: Final = ("instruction", "data", "generic", "")
_REQUESTS: Final = (
    "generic error", "generic read", "generic write", "data read", "data write",
    "instruction fetch", "prefetch", "eviction", "snoop",
)  # fmt: skip
_MEMORY: Final = ("undefined request", "read", "write", "address or command", "scrubbing")

_SIMPLE: Final = {
    0x0001: (INTERNAL, "unclassified"),
    0x0002: (INTERNAL, "parity of the microcode"),
    0x0003: (BUS, "another processor reported an error"),
    0x0004: (INTERNAL, "master and checker disagreed"),
    0x0005: (INTERNAL, "parity inside the processor"),
    0x0006: (INTERNAL, "firmware code ran outside its memory"),
    0x0400: (TIMER, "the processor waited in vain for itself"),
    0x0E0B: (INPUT_OUTPUT, "error of input or output"),
}


class Status(NamedTuple):
    """A decoded status word."""

    kind: str
    """What failed: one of this module's names."""
    says: str
    corrected: bool
    """True: the hardware repaired it."""
    context_lost: bool
    """True: the processor's state may be wrong (PCC)."""
    overflow: bool
    """True: further errors were lost."""
    counted: int | None
    """Corrected errors counted; None: this one keeps no count."""

    @property
    def severity(self) -> str:
        """As the kernel's documentation grades it."""
        if self.corrected:
            return "corrected"
        return "fatal" if self.context_lost else "not corrected"


def decode(status: int) -> Status:
    """Decode a status word; a code in no table is ``unknown``."""
    kind, says = _code(status & 0xFFFF)
    corrected = not status >> 61 & 1
    return Status(
        kind=kind,
        says=says,
        corrected=corrected,
        context_lost=bool(status >> 57 & 1),
        overflow=bool(status >> 62 & 1),
        counted=(status >> 38 & 0x7FFF) or None if corrected else None,
    )


def _code(code: int) -> tuple[str, str]:
    # Bit 12 (corrected errors are filtered) belongs to no code.
    plain = code & ~0x1000
    if plain in _SIMPLE:
        return _SIMPLE[plain]
    level = _LEVELS[plain & 3]
    what = _TRANSACTIONS[plain >> 2 & 3]
    request = plain >> 4 & 0xF
    if plain >> 11 == 1:
        return BUS, f"bus or interconnect, {_request(request)}, {level}"
    if plain >> 10 == 1:
        return INTERNAL, "unclassified error inside the processor"
    if plain >> 8 == 1:
        return CACHE, f"{what} cache, {level}, {_request(request)}".strip()
    if plain >> 7 in (1, 5):
        request = plain >> 4 & 7
        word = _MEMORY[request] if request < len(_MEMORY) else "reserved request"
        return MEMORY, f"memory controller, {word}{_channel(plain & 0xF)}"
    if plain >> 4 == 1:
        return TLB, f"{what} address translation, {level}"
    if plain >> 2 == 3:
        return CACHE, f"cache hierarchy, {level}"
    return UNKNOWN, f"code {code:#06x}"


def _request(number: int) -> str:
    return _REQUESTS[number] if number < len(_REQUESTS) else "reserved request"


def _channel(number: int) -> str:
    return "" if number == 0xF else f", channel {number}"
