"""libata: error masks, SError, status and error words, and the kernel's own blame.

Wordings: Linux 6.1 and 6.12 ``drivers/ata/libata-eh.c``, ``libata-core.c``,
``libahci.c``. What an error speaks of: ``Documentation/driver-api/libata.rst``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import words
from livecheck.kernel_log.rules import Family, Judged, judged, rule
from livecheck.kernel_log.words import HOST_BUS, LINK, MEDIUM, OTHER, PROTOCOL, TIMEOUT

_BLAMES: Final = {word: layer for _, layer, word in words.ERR_MASK}

_SAYS: Final = {
    HOST_BUS: "the controller could not move the data to or from memory",
    LINK: "data was damaged between drive and controller",
    TIMEOUT: "a command was not answered in time",
    PROTOCOL: "drive and controller disagreed on the state of a command",
    MEDIUM: "the drive could not read its medium",
    OTHER: "a command failed for a reason the kernel does not name",
}


def _exception(match: re.Match[str]) -> Judged:
    mask, s_error = int(match["mask"], 16), int(match["serr"], 16)
    names = words.bits(s_error, words.S_ERROR)
    damaged = [name for name in names if name in words.S_ERROR_LINK]
    blame = words.blame_of_mask(mask)
    if blame is None and damaged:
        blame = LINK, "SError"
    if blame is None:
        # The failed command's own line follows with the kernel's blame.
        return OTHER, "the kernel stopped the port to look at an error", False
    layer, word = blame
    bits = f" (SError: {' '.join(names)})" if names else ""
    return layer, f"{_SAYS[layer]}: {word}{bits}", True


def _result(match: re.Match[str]) -> Judged:
    known = words.blame_of_mask(int(match["mask"], 16))
    layer = _BLAMES.get(match["blame"]) or (known[0] if known else OTHER)
    # A device error is a command the drive refused, often one it never knew.
    serious = match["blame"] not in ("device error", "invalid argument")
    return layer, f"{_SAYS[layer]}: {match['blame']}", serious


def _s_error(match: re.Match[str]) -> Judged:
    names = match["bits"].split()
    if any(name in words.S_ERROR_LINK for name in names):
        return LINK, f"the link reported {', '.join(names)}", True
    if "HostInt" in names:
        return HOST_BUS, "the host adapter reported an internal error", True
    if "Proto" in names or "UnrecFIS" in names:
        return PROTOCOL, f"the link reported {', '.join(names)}", True
    return LINK, f"the link changed state ({', '.join(names)})", False


def _error_word(match: re.Match[str]) -> Judged:
    names = match["bits"].split()
    if "ICRC" in names:
        return LINK, "checksum error on the way between drive and controller (ICRC)", True
    if "UNC" in names or "AMNF" in names:
        return MEDIUM, f"the drive could not read its medium ({' '.join(names)})", True
    if "IDNF" in names:
        return PROTOCOL, "the drive did not find the address asked for (IDNF)", False
    return PROTOCOL, f"the drive refused a command ({' '.join(names)})", False


def _status_word(match: re.Match[str]) -> Judged:
    if "DF" in match["bits"].split():
        return MEDIUM, "the drive reported a fault of its own (DF)", True
    return OTHER, f"status of the failed command: {match['bits'].strip()}", False


def _description(match: re.Match[str]) -> Judged:
    what = match["what"]
    if what == "host bus error":
        return HOST_BUS, _SAYS[HOST_BUS], True
    if what == "interface fatal error":
        return LINK, f"{_SAYS[LINK]}: {what}", True
    if what == "unknown FIS":
        return PROTOCOL, "the controller was sent a frame it does not know", True
    return LINK, f"the link changed state: {what}", False


def _link_down(match: re.Match[str]) -> Judged:
    # SStatus bits 3:0 (DET): 1 = a device is sensed and no communication is established.
    if int(match["status"], 16) & 0xF == 1:
        return LINK, "the port senses a part, but no link came up", True
    return LINK, "no link: nothing sensed at the port", False


def _masked(match: re.Match[str]) -> Judged:
    blame = words.blame_of_mask(int(match["mask"], 16))
    if blame is None:
        return OTHER, f"{match['what']} failed", True
    return blame[0], f"{match['what']} failed: {_SAYS[blame[0]]}", True


RULES: Final = (
    judged(
        r"exception Emask 0x(?P<mask>[0-9a-f]+) SAct 0x[0-9a-f]+ SErr 0x(?P<serr>[0-9a-f]+)",
        _exception,
    ),
    judged(r"\bres [0-9a-f]{2}/.*Emask 0x(?P<mask>[0-9a-f]+) \((?P<blame>[^)]+)\)", _result),
    judged(r"SError: \{(?P<bits>[^}]*)\}", _s_error),
    judged(r": error: \{(?P<bits>[^}]*)\}", _error_word),
    judged(r": status: \{(?P<bits>[^}]*)\}", _status_word),
    judged(
        r"(?P<what>interface fatal error|host bus error|unknown FIS|"
        r"connection status changed|PHY RDY changed)",
        _description,
    ),
    rule(r"failed command: (?P<command>.+)", OTHER, "failed command: {command}", False),
    rule(r": cmd [0-9a-f]{2}/", OTHER, "the failed command's registers", False),
    rule(r"irq_stat 0x", OTHER, "interrupt status of the port", False),
    rule(
        r"limiting SATA link speed to (?P<speed>.+)",
        LINK,
        "so many errors that the kernel slowed the link to {speed}",
    ),
    rule(
        r"limiting speed to (?P<speed>\S+)",
        LINK,
        "so many errors that the kernel slowed transfers to {speed}",
    ),
    rule(r"NCQ disabled due to", TIMEOUT, "so many errors that the kernel gave up queueing"),
    judged(
        r"SATA link down \(SStatus (?P<status>[0-9A-Fa-f]+) SControl [0-9A-Fa-f]+\)", _link_down
    ),
    rule(r"SATA link up (?P<speed>[\d.]+ [GM]bps)", LINK, "link up at {speed}", False),
    rule(r"COMRESET failed", LINK, "the link did not come up after a reset"),
    rule(r"SRST failed|softreset failed", LINK, "the drive did not answer a reset"),
    rule(r"reset failed, giving up", LINK, "the link did not come up; the kernel gave up"),
    rule(r"(?:hard|soft) resetting (?:link|port)", LINK, "the link was reset", False),
    rule(
        r"(?:link|port) is slow to respond|device not ready|failed to respond",
        TIMEOUT,
        "the drive was slow to answer after a reset",
        False,
    ),
    judged(
        r"(?P<what>failed to IDENTIFY|failed to set xfermode|failed to read native max address)"
        r".*err_mask=0x(?P<mask>[0-9a-f]+)",
        _masked,
    ),
    rule(r"qc timeout", TIMEOUT, "a command was not answered in time"),
    rule(r"lost interrupt", HOST_BUS, "an interrupt from the controller was lost"),
    rule(r"revalidation failed", PROTOCOL, "the drive did not identify itself again"),
    rule(r": disable(?:d| device)\s*$", PROTOCOL, "the kernel gave the drive up"),
    rule(r"misclassified", PROTOCOL, "the drive did not say what it is", False),
    rule(r"Read log .*failed", OTHER, "a log the drive need not have was not read", False),
    rule(r"configured for (?P<mode>\S+)|EH complete", OTHER, "the drive was set up", False),
    rule(r"SATA max|PATA max|ATAPI?-\d|DUMMY|sectors, multi", OTHER, "the drive was found", False),
    rule(r"drained \d+ bytes", PROTOCOL, "left-over data was taken out of the port", False),
)

FAMILY: Final = Family(
    "ata",
    re.compile(
        r"^(?P<dev>ata\d+(?:\.\d+)?): |^\s*(?:cmd [0-9a-f]{2}/.*)?res [0-9a-f]{2}/.*Emask 0x"
        r"|^ahci (?P<ahci>[0-9a-f:.]+): .*(?:error|failed|timeout)"
    ),
    RULES,
)
