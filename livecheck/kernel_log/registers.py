"""Bit names of the registers that kernel messages print, and what they speak of.

Sources: Linux 6.1 and 6.12 ``drivers/ata/libata-eh.c``, ``include/linux/ata.h``,
``include/linux/libata.h``, ``include/linux/nvme.h``, ``drivers/pci/pcie/aer.c``, and
``Documentation/driver-api/libata.rst`` ("ATA errors and exceptions").
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from livecheck.kernel_log.words import HOST_BUS, LINK, MEDIUM, OTHER, PROTOCOL, TIMEOUT

ERR_MASK: Final[tuple[tuple[int, str, str], ...]] = (
    (0x20, HOST_BUS, "host bus error"),
    (0x10, LINK, "ATA bus error"),
    (0x04, TIMEOUT, "timeout"),
    (0x02, PROTOCOL, "HSM violation"),
    (0x40, OTHER, "internal error"),
    (0x08, MEDIUM, "media error"),
    (0x80, PROTOCOL, "invalid argument"),
    (0x01, PROTOCOL, "device error"),
    (0x400, PROTOCOL, "NCQ error"),
)
"""libata's error mask in the order in which the kernel picks one word for it."""

S_ERROR: Final[dict[int, str]] = {
    0: "RecovData",
    1: "RecovComm",
    8: "UnrecovData",
    9: "Persist",
    10: "Proto",
    11: "HostInt",
    16: "PHYRdyChg",
    17: "PHYInt",
    18: "CommWake",
    19: "10B8B",
    20: "Dispar",
    21: "BadCRC",
    22: "Handshk",
    23: "LinkSeq",
    24: "TrStaTrns",
    25: "UnrecFIS",
    26: "DevExch",
}

S_ERROR_EXCHANGE: Final = "DevExch"
"""The port saw its device come or go."""

S_ERROR_LINK: Final = frozenset(
    {"RecovData", "RecovComm", "UnrecovData", "Persist", "10B8B", "Dispar"}
    | {"BadCRC", "Handshk", "LinkSeq", "TrStaTrns"}
)
"""Bits that say data was damaged on the cable, connector or at either end of it. A
change of PHYRdy, a COMWAKE or a device exchange alone is what plugging in looks like."""

CSTS: Final[dict[int, str]] = {0: "ready", 1: "controller fatal status", 4: "subsystem reset"}
CSTS_FATAL: Final = 1 << 1
ALL_ONES: Final = 0xFFFFFFFF

SENSE_KEYS: Final[dict[str, tuple[str, bool]]] = {
    "medium error": (MEDIUM, True),
    # Judged by the additional sense that follows (kernel_log.context).
    "hardware error": (MEDIUM, True),
    "aborted command": (PROTOCOL, True),
    "recovered error": (MEDIUM, False),
    "not ready": (OTHER, False),
    "illegal request": (OTHER, False),
    "unit attention": (OTHER, False),
    "no sense": (OTHER, False),
    "data protect": (OTHER, False),
    "blank check": (MEDIUM, False),
}
"""SCSI sense key -> layer, serious (SPC sense key names as drivers/scsi/constants.c prints)."""

AER_LINK: Final = frozenset(
    {"RxErr", "BadTLP", "BadDLLP", "Rollover", "Timeout", "DLP", "SDES"}
    | {"Receiver Error", "Bad TLP", "Bad DLLP", "RELAY_NUM Rollover", "Replay Timer Timeout"}
    | {"Data Link Protocol", "Surprise Down Error", "Surprise Down"}
)
"""AER bits of the physical and data link layers, new and old names."""

AER_TRANSACTION: Final = frozenset(
    {"NonFatalErr", "CorrIntErr", "HeaderOF", "Undefined", "TLP", "FCP", "CmpltTO", "CmpltAbrt"}
    | {"UnxCmplt", "RxOF", "MalfTLP", "ECRC", "UnsupReq", "ACSViol", "UncorrIntErr", "BlockedTLP"}
    | {"AtomicOpBlocked", "TLPBlockedErr", "PoisonTLPBlocked", "Advisory Non-Fatal"}
    | {"Advisory Non-Fatal Error", "Corrected Internal Error", "Header Log Overflow"}
    | {"Poisoned TLP", "Flow Control Protocol", "Completion Timeout", "Completer Abort"}
    | {"Unexpected Completion", "Receiver Overflow", "Malformed TLP", "Unsupported Request"}
    | {"ACS Violation", "Uncorrectable Internal Error", "MC Blocked TLP"}
    | {"AtomicOp Egress Blocked", "TLP Prefix Blocked Error"}
)
"""The bits of the transaction layer (``drivers/pci/pcie/aer.c``, before and since Linux 5.3)."""


def blame_of_mask(mask: int) -> tuple[str, str] | None:
    """(layer, the kernel's word) of a libata error mask; None when no known bit is set."""
    return next(((layer, word) for bit, layer, word in ERR_MASK if mask & bit), None)


def bits(value: int, names: Mapping[int, str]) -> tuple[str, ...]:
    """Names of the bits set."""
    return tuple(name for bit, name in names.items() if value >> bit & 1)
