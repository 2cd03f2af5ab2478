"""The block layer and file systems: what a drive's errors became further up.

Wordings: Linux 6.1 and 6.12 ``block/blk-core.c`` (``blk_errors``), ``blk-mq.c``, ``fs/buffer.c``,
``mm/page_io.c``, ``block/partitions``, ``fs/ext4/super.c``, ``fs/xfs/xfs_log.c``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import LINK, MEDIUM, OTHER, PROTOCOL, TIMEOUT

_ERRORS: Final = {
    "critical medium": (MEDIUM, "could not be read from the medium", True),
    "critical target": (PROTOCOL, "was refused by the device", True),
    "critical nexus": (PROTOCOL, "was refused by the device", True),
    "reservation conflict": (PROTOCOL, "was refused by the device", False),
    "operation not supported": (OTHER, "was asked for with a command the device lacks", False),
    "timeout": (TIMEOUT, "was not answered in time", True),
    "recoverable transport": (LINK, "was lost on the way", True),
    "transport": (LINK, "was lost on the way", True),
    "protection": (LINK, "came with a wrong checksum", True),
    "device offline": (TIMEOUT, "was asked of a device that was given up", True),
    "command duration limit": (TIMEOUT, "was not answered in the time allowed", False),
    "duration limit exceeded": (TIMEOUT, "was not answered in the time allowed", False),
    "critical space allocation": (OTHER, "found no room", False),
    "kernel resource": (OTHER, "found no memory", False),
    "device resource": (OTHER, "found the device busy", False),
    "I/O": (OTHER, "could not be read or written", True),
}

_NO_DISK: Final = re.compile(r"(?:loop|ram|zram|fd|sr|dm-|md|nbd)\d")


def _error(match: re.Match[str]) -> Judged:
    layer, says, serious = _ERRORS.get(match["kind"], (OTHER, "failed", False))
    return layer, f"sector {match['sector']} {says}", serious and not _NO_DISK.match(match["dev"])


def _counted(match: re.Match[str]) -> Judged:
    """btrfs keeps count of what its drive failed; what was damaged may have been so in memory."""
    if any(int(match[what]) for what in ("wr", "rd", "flush")):
        return OTHER, "the file system counts reads or writes that its drive failed", True
    return OTHER, "the file system found data that is not as it was written", False


_OF = r"(?P<dev>[\w!-]+)"

FAMILY: Final = Family(
    "block",
    re.compile(
        r"^(?:blk_update_request: |print_req_error: |end_request: )"
        r"|^(?=(?:[a-z ]+|I/O|critical \w+) error, dev )"
        r"|^(?=Buffer I/O|lost (?:async )?page|Read-error on|Write-error on|ldm_|GPT:|"
        r"Alternate GPT|Primary GPT|Dev |"
        r"EXT|bcache: |md: |md/|device-mapper: |"
        r"XFS|BTRFS|FAT|NTFS|exFAT|F2FS|SQUASHFS|Aborting journal|JBD2|[\w!-]+: (?:p\d|part|rw=))"
    ),
    (
        judged(
            rf"(?P<kind>(?:[a-z]+ )*[a-z]+|I/O) error, dev {_OF}, sector (?P<sector>\d+)", _error
        ),
        rule(rf"(?:Buffer I/O error on dev(?:ice)?|"
             rf"lost (?:async )?page write due to I/O error on(?: dev)?) {_OF}", OTHER,
             "a cached block could not be read or written", False),
        rule(r"(?:Read|Write)-error on swap-device \((?P<major>\d+):(?P<minor>\d+)", OTHER,
             "memory that was put on a drive could not be had again", False),
        judged(
            rf"BTRFS error \(device [^)]+\): bdev (?:/dev/)?{_OF} errs: "
            r"wr (?P<wr>\d+), rd (?P<rd>\d+), flush (?P<flush>\d+)",
            _counted,
        ),
        rule(rf"(?:EXT[234]-fs|XFS)[^:]*\((?:device )?{_OF}\):? (?:\w+:\d+: )?"
             r"(?:metadata |log )?I/O error",
             OTHER, "the file system could not read or write its drive"),
        rule(rf"JBD2: (?:Error -5 detected|I/O error).*? (?:for|on) {_OF}", OTHER,
             "the file system could not read or write its drive"),
        chatter(rf"{_OF}: (?:p\d+ (?:size|start)|partition table|rw=\d+)", "partitions"),
        chatter(r"ldm_\w+\(\): |GPT:|Alternate GPT|Primary GPT|Dev \w+: unable to read",
                "partitions"),
        chatter(rf"(?:EXT[234]-fs|XFS|BTRFS|FAT-fs|NTFS|exFAT-fs|"
                rf"F2FS-fs):?[^:]*\((?:device )?{_OF}\)",
                "a file system's message"),
        chatter(r"SQUASHFS error|Aborting journal|JBD2: |NTFS|ntfs|"
                r"BTRFS", "a file system's message"),
        rule(r"bcache: \w+\(\) .*(?P<dev>[sv]d[a-z]+|nvme\d+n\d+): IO error|md/raid\w*:\S+ "
             r"Disk failure on (?P<dev2>\w+)", OTHER, "what lies above the drive gave it up",
             False),
        chatter(r"bcache: |md: |md/|device-mapper: ", "volumes and arrays"),
    ),
    claims=False,
)  # fmt: skip
