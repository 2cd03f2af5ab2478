"""SCSI, and so USB and SATA disks: results, sense data, drives given up.

Wordings: Linux 6.1 and 6.12 ``drivers/scsi/scsi_logging.c``, ``scsi_lib.c``, ``scsi_error.c``,
``sd.c``, ``sr.c``, ``sense_codes.h``, ``drivers/usb/storage/uas.c``; numbers of host bytes:
``include/scsi/scsi_status.h``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import registers, words
from livecheck.kernel_log.rules import Family, Judged, Rule, apply, chatter, judged, rule
from livecheck.kernel_log.words import HOST_BUS, LINK, MEDIUM, OTHER, PROTOCOL, TIMEOUT

OF_A_DISC: Final = " (of the disc in the drive)"
HARDWARE_ERROR: Final = "the device answered: hardware error"
GONE: Final = "the device is gone from its bus"
ABORTED: Final = "the device answered: aborted command"

_HOST_BYTES: Final = (
    ("DID_OK", OTHER, "a command failed; its sense data follows", False),
    ("DID_NO_CONNECT", LINK, GONE, True),
    ("DID_BUS_BUSY", OTHER, "the bus was busy", False),
    ("DID_TIME_OUT", TIMEOUT, "a command was not answered in time", True),
    ("DID_BAD_TARGET", LINK, GONE, True),
    ("DID_ABORT", OTHER, "a command was taken back", False),
    ("DID_PARITY", LINK, "data was damaged on the way to the device", True),
    ("DID_ERROR", PROTOCOL, "the host adapter reported an error", True),
    ("DID_RESET", LINK, "a command was lost in a reset", False),
    ("DID_BAD_INTR", HOST_BUS, "an interrupt came that nobody waited for", True),
    ("DID_PASSTHROUGH", OTHER, "a command was passed through", False),
    ("DID_SOFT_ERROR", PROTOCOL, "the host adapter reported an error", False),
    ("DID_IMM_RETRY", OTHER, "a command is tried again", False),
    ("DID_REQUEUE", OTHER, "a command is queued again", False),
    ("DID_TRANSPORT_DISRUPTED", LINK, "the way to the device broke off", True),
    ("DID_TRANSPORT_FAILFAST", LINK, "the way to the device broke off", True),
)
"""In the order of their numbers, which some kernels print instead of the names."""

_BY_NAME: Final = {name: (layer, says, serious) for name, layer, says, serious in _HOST_BYTES}


def _result(match: re.Match[str]) -> Judged:
    host = match["host"]
    if re.fullmatch(r"0x[0-9a-f]+", host):
        number = int(host, 16)
        host = _HOST_BYTES[number][0] if number < len(_HOST_BYTES) else host
    return _BY_NAME.get(host, (OTHER, f"a command failed ({host})", False))


def _sense_key(match: re.Match[str]) -> Judged:
    key = match["key"].strip().lower()
    layer, serious = registers.SENSE_KEYS.get(key, (OTHER, False))
    return layer, f"the device answered: {key}", serious


_ADDITIONAL: Final = tuple(
    (re.compile(pattern, re.IGNORECASE), layer, says, serious)
    for pattern, layer, says, serious in (
        (r"id crc or ecc|address mark|record not found|data sync",
         MEDIUM, "the medium failed", True),
        (r"access denied|security conflict|data is locked", PROTOCOL, words.LOCKED, False),
        (r"time-?out", TIMEOUT, "the device waited in vain", True),
        (r"crc|parity|communication failure|\bnak\b|initiator detected error|protocol service",
         LINK, "data was damaged on the way", True),
        (r"unrecovered|read error|write error|write fault|defect|track following|seek|servo|"
         r"reference position|mechanical|spindle|positioning|miscompare|ecc|head select",
         MEDIUM, "the medium failed", True),
        (r"failure prediction|impending failure|threshold exceeded|internal target failure|hardware"
         r"|logical unit failure|failed self-?test|self-test failed|component|format corrupted|"
         r"electronic", MEDIUM, "the device reported a fault of its own", True),
        (r"out of range|corruption", PROTOCOL, "the device refused a command", False),
    )
)  # fmt: skip
"""Words of ``sense_codes.h`` (SPC's list of additional sense codes), the telling ones first."""


def _additional(match: re.Match[str]) -> Judged:
    sense = match["sense"].strip()
    for pattern, layer, says, serious in _ADDITIONAL:
        if pattern.search(sense):
            return layer, f"{says}: {sense}", serious
    return OTHER, f"the device answered: {sense}", False


def _of_a_disc(known: Rule) -> Rule:
    """What a drive says of a disc it cannot read is the disc's; damage on the way is not."""

    def judge(match: re.Match[str]) -> Judged:
        layer, says, serious = apply(known, match)
        way = layer in (LINK, HOST_BUS)
        return layer, says if way else f"{says}{OF_A_DISC}", serious and way

    return Rule(known.pattern, judge=judge)


_SENSE: Final = (
    judged(r"(?:.*?failed: )?Result: hostbyte=(?P<host>\w+)", _result),
    judged(r"Sense Key : (?P<key>[A-Za-z ]+?)\s*(?:\[|$)", _sense_key),
    judged(r"Add\. Sense: (?P<sense>.+)", _additional),
)

_GIVEN_UP: Final = (
    rule(r"(?:uas_eh_abort_handler|uas_zap_pending)", TIMEOUT, "a command over USB was given up"),
    rule(r"rejecting I/O to (?:offline|dead) device", TIMEOUT, "the kernel gave it up"),
    rule(r"Device offlined|Medium access timeout failure", TIMEOUT, "the kernel gave it up"),
    rule(r"attempting (?:task abort|(?:target|device|host|bus) reset)!", TIMEOUT,
         "a command was not answered in time and given up"),
    rule(r"(?:task abort|(?:target|device|host|bus) reset): (?:SUCCESS|FAILED)", TIMEOUT,
         "how giving up a command ended", False),
    rule(r"(?:data|cmd|status|sense) cmplt err -\d+", PROTOCOL, "a transfer over USB broke off",
         False),
    rule(r"timing out command, waited", TIMEOUT, "a command was not answered in time"),
    rule(r"device offline or changed", LINK, "the device went away"),
    rule(r"Read Capacity\(\d+\) failed", PROTOCOL, "the device did not tell its size"),
    rule(r"Unaligned partial completion|bad sector size|Sector size 0|mismatch count|"
         r"access beyond end", PROTOCOL,
         "the device answered with more or less than was asked", False),
)  # fmt: skip

_CHATTER: Final = chatter(
    r"CDB:|supports TCG|Unhandled |Device not ready|Sense not available|READ CAPACITY|"
    r"Cache data unavail|"
    r"[Ss]ynchroniz\w+ (?:SCSI )?[Cc]ache|Test Unit Ready failed|Test WP failed|"
    r"Start/Stop Unit|St(?:art|opp)ing disk|Unit Not Ready|Spinning up|\.\.|No Caching mode|"
    r"Assuming drive cache|Asking for cache|Attached |Write Protect is|Mode Sense|Write cache|"
    r"Disabling DIF|Enabling DIF|\d+ (?:\d+-byte )?(?:logical|physical) blocks|\d+-byte physical|"
    r"Media removed|Unknown capacity|Using 0x|Very big device|Missing header|Incomplete mode|"
    r"getting Control mode|ATO Got|Preferred minimum|Optimal transfer|Invalid Concurrent|"
    r"Inquiry data has changed|Power-on or device reset|Mode parameters|Capacity data|Parameters|"
    r"LUN assignments|Operating parameters|Warning! Received|Asymmetric|Illegal state|event \d+|"
    r"(?:Direct-Access|CD-ROM|Processor|Enclosure|Optical|Sequential)|scsi-\d|scsi3-mmc|"
    r"GET_EVENT|retry aborted|finish aborted|Unit |Done: |timing|uas_|\[?s[dgr]\w*\]?\s*$|$|"
    r"formatted with|Unsupported ZBC|request not aligned|FUA write|CD-Text|alua: |emc: |rdac: |"
    r"failed to (?:add|get)|Embedded Enclosure|(?:in )?wrong|tag#\d+\s*$|Invalid (?:operation|cap)",
    "what the device said of itself",
)

_HEAD: Final = (
    r" (?P<dev2>\d+:\d+:\d+:\d+):\s+(?:\[(?P<dev>{name})\]\s*)?(?:tag#\d+\s*)?"
    r"(?:(?:FAILED|ABORTED|SUCCESS|TIMEOUT|UNKNOWN\(\w+\)|timeout|Done:)\s+)*"
)

OPTICAL: Final = Family(
    "scsi",
    re.compile(r"^sr" + _HEAD.format(name=r"sr\d+")),
    (*(_of_a_disc(known) for known in (*_SENSE, *_GIVEN_UP)), _CHATTER),
)

DISK: Final = Family(
    "scsi",
    re.compile(r"^(?:sd|scsi|ses|sg|st)" + _HEAD.format(name=r"s[a-z]+\d*")),
    (*_SENSE, *_GIVEN_UP, _CHATTER),
    complains=PROTOCOL,
)

HOST: Final = Family(
    "scsi",
    re.compile(r"^scsi (?P<dev>host\d+): "),
    (
        rule(r"uas_eh_\w+ (?:FAILED|.*err)|uas_\w+: timed out", TIMEOUT,
             "a disk on USB did not come back from a reset"),
        rule(r"uas_eh_\w+ (?:start|success)", TIMEOUT, "a disk on USB was reset", False),
        chatter(r"ahci|uas|usb-storage|iscsi|ata_|runtime PM|scsi_eh", "a host adapter"),
    ),
    claims=False,
)  # fmt: skip

FAMILIES: Final = (OPTICAL, DISK, HOST)
