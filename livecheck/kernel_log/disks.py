"""SCSI (and so USB and SATA disks), the block layer, NVMe and MMC.

Wordings: Linux 6.1 and 6.12 ``drivers/scsi/scsi_logging.c`` and ``constants.c``,
``block/blk-core.c``, ``drivers/nvme/host/pci.c`` and ``core.c``, ``drivers/mmc``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import words
from livecheck.kernel_log.rules import Family, Judged, judged, rule
from livecheck.kernel_log.words import HOST_BUS, LINK, MEDIUM, OTHER, PROTOCOL, TIMEOUT

_HOST_BYTES: Final = {
    "DID_OK": (OTHER, "a command failed; its sense data follows", False),
    "DID_NO_CONNECT": (LINK, "the device is gone from its bus", True),
    "DID_BAD_TARGET": (LINK, "the device is gone from its bus", True),
    "DID_TIME_OUT": (TIMEOUT, "a command was not answered in time", True),
    "DID_PARITY": (LINK, "data was damaged on the way to the device", True),
    "DID_TRANSPORT_DISRUPTED": (LINK, "the way to the device broke off", True),
    "DID_RESET": (LINK, "a command was lost in a reset", False),
    "DID_ERROR": (PROTOCOL, "the host adapter reported an error", True),
    "DID_SOFT_ERROR": (PROTOCOL, "the host adapter reported an error", False),
}

_BLOCK: Final = {
    "critical medium": (MEDIUM, "could not be read from the medium"),
    "critical target": (PROTOCOL, "was refused by the device"),
    "critical nexus": (PROTOCOL, "was refused by the device"),
    "timeout": (TIMEOUT, "was not answered in time"),
    "recoverable transport": (LINK, "was lost on the way"),
    "transport": (LINK, "was lost on the way"),
    "protection": (LINK, "came with a wrong checksum"),
    "I/O": (OTHER, "could not be read or written"),
}

_NO_DISK: Final = re.compile(r"(?:loop|ram|zram|fd|sr|dm-|md|nbd)\d")


def _result(match: re.Match[str]) -> Judged:
    plain = (OTHER, f"a command failed ({match['host']})", True)
    return _HOST_BYTES.get(match["host"], plain)


def _sense_key(match: re.Match[str]) -> Judged:
    key = match["key"].strip().lower()
    layer, serious = words.SENSE_KEYS.get(key, (OTHER, False))
    return layer, f"the device answered: {key}", serious


def _additional(match: re.Match[str]) -> Judged:
    sense = match["sense"].strip()
    low = sense.lower()
    if "crc" in low or "parity" in low:
        return LINK, f"data was damaged on the way: {sense}", True
    if any(word in low for word in ("unrecovered", "read error", "write error", "defect")):
        return MEDIUM, f"the medium failed: {sense}", True
    if "hardware" in low or "internal target failure" in low:
        return MEDIUM, f"the device reported a fault of its own: {sense}", True
    return OTHER, f"the device answered: {sense}", False


def _block_error(match: re.Match[str]) -> Judged:
    layer, says = _BLOCK.get(match["kind"], (OTHER, "failed"))
    serious = not _NO_DISK.match(match["dev"])
    return layer, f"sector {match['sector']} {says}", serious


SCSI_RULES: Final = (
    judged(r"Result: hostbyte=(?P<host>\w+)", _result),
    judged(r"Sense Key : (?P<key>[A-Za-z ]+?)\s*(?:\[|$)", _sense_key),
    judged(r"Add\. Sense: (?P<sense>.+)", _additional),
    rule(r"uas_eh_\w+|uas_zap_pending", TIMEOUT, "a command over USB was given up"),
    rule(r"rejecting I/O to offline device|[Dd]evice offlined", TIMEOUT, "the kernel gave it up"),
    rule(r"CDB: ", OTHER, "the failed command", False),
    rule(r"Read Capacity\(\d+\) failed", PROTOCOL, "the device did not tell its size"),
    rule(r"[Ss]ynchronize [Cc]ache.*failed", OTHER, "the device did not empty its cache", False),
    rule(
        r"No Caching mode page|Assuming drive cache|Asking for cache data failed|"
        r"Attached SCSI|Write Protect is|Mode Sense|Write cache|logical blocks|Media removed",
        OTHER,
        "what the device said of itself",
        False,
    ),
)

SCSI: Final = Family(
    "scsi",
    re.compile(r"^(?:sd|sr|scsi|ses) (?P<scsi>\d+:\d+:\d+:\d+): (?:\[(?P<dev>s[a-z]+\d*)\] )?"),
    SCSI_RULES,
)

BLOCK: Final = Family(
    "block",
    re.compile(r"^(?:blk_update_request: |Buffer I/O error on dev|.* error, dev [\w!-]+, sector )"),
    (
        judged(
            r"(?:^|: )(?P<kind>[A-Za-z/ ]+?) error, dev (?P<dev>[\w!-]+), sector (?P<sector>\d+)",
            _block_error,
        ),
        rule(
            r"Buffer I/O error on dev(?:ice)? (?P<dev>[\w!-]+)",
            OTHER,
            "a cached block could not be read or written",
            False,
        ),
    ),
)


def _csts(match: re.Match[str]) -> Judged:
    status = int(match["csts"], 16)
    if status & words.ALL_ONES == words.ALL_ONES:
        return (
            HOST_BUS,
            "the drive is gone from the bus: its registers read all ones (card, contact, slot "
            "power or port)",
            True,
        )
    if status & words.CSTS_FATAL:
        return PROTOCOL, "the drive itself reported a fatal state (CSTS.CFS)", True
    return TIMEOUT, "the drive stopped answering and was reset", True


def _nvme_timeout(match: re.Match[str]) -> Judged:
    if match["what"].startswith("completion polled"):
        return HOST_BUS, "a command was done, but its interrupt was lost", True
    return TIMEOUT, f"a command was not answered in time: {match['what']}", True


def _nvme_status(match: re.Match[str]) -> Judged:
    kind, code = int(match["sct"], 16), int(match["sc"], 16)
    what = match["words"].strip()
    if kind == 2:
        return MEDIUM, f"the medium failed: {what}", True
    if kind == 3:
        return LINK, f"the path failed: {what}", True
    if kind == 0 and code == 4:
        return HOST_BUS, f"data did not get through to memory: {what}", True
    return PROTOCOL, f"the drive refused a command: {what}", False


NVME: Final = Family(
    "nvme",
    re.compile(r"^nvme (?P<dev>nvme\d+|[0-9a-f]{4}:[0-9a-f:.]+): |^(?P<block>nvme\d+n\d+): "),
    (
        judged(r"I/O .*?QID \d+ timeout, (?P<what>.+?)\s*$", _nvme_timeout),
        judged(r"controller is down; will reset: CSTS=0x(?P<csts>[0-9a-f]+)", _csts),
        judged(r"Device not ready; aborting \w+, CSTS=0x(?P<csts>[0-9a-f]+)", _csts),
        judged(
            r"blocks?, (?P<words>.+?) \(sct 0x(?P<sct>[0-9a-f]+) / sc 0x(?P<sc>[0-9a-f]+)\)",
            _nvme_status,
        ),
        rule(r"Device not ready; aborting", TIMEOUT, "the drive did not become ready"),
        rule(
            r"[Dd]isabling device after reset failure|[Rr]emoving after probe failure|"
            r"Identify Controller failed|failed to mark controller|Could not set queue count",
            PROTOCOL,
            "the drive did not come up; the kernel gave it up",
        ),
        rule(r"frozen state error detected", LINK, "the link to the drive failed and was reset"),
        rule(r"controller fatal status|fatal error", PROTOCOL, "the drive reported a fatal state"),
        rule(r"Abort status|resetting controller|restart after slot", OTHER, "recovery", False),
        rule(
            r"SUBNQN|duplicate ID|default/read/poll queues|Shutdown timeout|faulty power saving|"
            r"ps_max_latency|bad crto|pci function|allocated .* host memory",
            OTHER,
            "what the driver said while setting the drive up",
            False,
        ),
    ),
)


def _mmc_errno(match: re.Match[str]) -> Judged:
    layer = words.ERRNO_LAYER.get(int(match["errno"]), OTHER)
    says = {LINK: "a checksum failed on the way to the card", TIMEOUT: "the card did not answer"}
    return layer, says.get(layer, "the card failed a command"), True


MMC: Final = Family(
    "mmc",
    re.compile(r"^(?P<dev>mmc\d+|mmcblk\d+\w*)(?:: |:[0-9a-f]{4}: )"),
    (
        judged(r"error -(?P<errno>\d+)", _mmc_errno),
        judged(r"tuning execution failed: -(?P<errno>\d+)", _mmc_errno),
        rule(r"tuning execution failed", LINK, "no clean timing was found on the way to the card"),
        rule(
            r"Reset 0x[0-9a-f]+ never completed|never released inhibit|ADMA error|"
            r"Internal clock never",
            HOST_BUS,
            "the card controller itself failed",
        ),
        rule(r"Timeout waiting for hardware", TIMEOUT, "the card controller had no answer"),
        rule(r"[Cc]ard stuck|left busy|timed out sending", TIMEOUT, "the card did not answer"),
        rule(r"response CRC error|data CRC error", LINK, "a checksum failed on the way"),
        rule(r"even though no (?:data|command)", PROTOCOL, "card and controller disagreed"),
        rule(r"recovery failed", PROTOCOL, "the card did not come back"),
        rule(r"new .*card at address|card .* removed", OTHER, "plugged or pulled", False),
        rule(r"sdhci: ", OTHER, "registers of the card controller", False),
    ),
)

FAMILIES: Final = (NVME, BLOCK, SCSI, MMC)
