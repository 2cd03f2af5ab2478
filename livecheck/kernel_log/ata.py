"""libata: error masks, SError, status and error words, and the kernel's own blame.

Wordings: Linux 6.1 and 6.12 ``drivers/ata/libata-eh.c``, ``libata-core.c``,
``libahci.c``. What an error speaks of: ``Documentation/driver-api/libata.rst``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import registers
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import HOST_BUS, LINK, MEDIUM, OTHER, PROTOCOL, TIMEOUT

_BLAMES: Final = {word: layer for _, layer, word in registers.ERR_MASK}

_SAYS: Final = {
    HOST_BUS: "the controller could not move the data to or from memory",
    LINK: "data was damaged between drive and controller",
    TIMEOUT: "a command was not answered in time",
    PROTOCOL: "drive and controller disagreed on the state of a command",
    MEDIUM: "the drive could not read its medium",
    OTHER: "a command failed for a reason the kernel does not name",
}


CHANGED: Final = "the link changed state"
FROZEN: Final = "the kernel stopped the port over a command that is overdue"


def _exception(match: re.Match[str]) -> Judged:
    mask, s_error = int(match["mask"], 16), int(match["serr"], 16)
    names = registers.bits(s_error, registers.S_ERROR)
    damaged = [name for name in names if name in registers.S_ERROR_LINK]
    blame = registers.blame_of_mask(mask)
    if blame is not None and blame[0] == LINK and not damaged and names:
        return _link_state(names)
    if blame is None and damaged:
        blame = LINK, "SError"
    if blame is None and match["frozen"]:
        # A port is frozen without a mask when a command ran out of time; its own line follows.
        return TIMEOUT, FROZEN, False
    if blame is None:
        # The failed command's own line follows with the kernel's blame.
        return OTHER, "the kernel stopped the port to look at an error", False
    layer, word = blame
    bits = f" (SError: {' '.join(names)})" if names else ""
    return layer, f"{_SAYS[layer]}: {word}{bits}", True


def _link_state(names: tuple[str, ...]) -> Judged:
    """Bits that say no data was damaged: waking up, power saving; or a device that came or went."""
    went = registers.S_ERROR_EXCHANGE in names
    says = "the port saw its drive come or go" if went else CHANGED
    return LINK, f"{says} ({', '.join(names)})", went


def _result(match: re.Match[str]) -> Judged:
    known = registers.blame_of_mask(int(match["mask"], 16))
    layer = _BLAMES.get(match["blame"]) or (known[0] if known else OTHER)
    # A device error is a command the drive refused, often one it never knew.
    serious = match["blame"] not in ("device error", "invalid argument")
    return layer, f"{_SAYS[layer]}: {match['blame']}", serious


def _s_error(match: re.Match[str]) -> Judged:
    names = match["bits"].split()
    if any(name in registers.S_ERROR_LINK for name in names):
        return LINK, f"the link reported {', '.join(names)}", True
    if "HostInt" in names:
        return HOST_BUS, "the host adapter reported an internal error", True
    if "Proto" in names or "UnrecFIS" in names:
        return PROTOCOL, f"the link reported {', '.join(names)}", True
    return LINK, f"{CHANGED} ({', '.join(names)})", False


FAILED: Final = "failed command: "
REFUSED: Final = "the drive refused a command"
ABORTED: Final = f"{REFUSED} (ABRT)"


def _error_word(match: re.Match[str]) -> Judged:
    names = match["bits"].split()
    if "ICRC" in names:
        return LINK, "checksum error on the way between drive and controller (ICRC)", True
    if "UNC" in names or "AMNF" in names:
        return MEDIUM, f"the drive could not read its medium ({' '.join(names)})", True
    if "IDNF" in names:
        return PROTOCOL, "the drive did not find the address asked for (IDNF)", False
    return PROTOCOL, f"{REFUSED} ({' '.join(names)})", False


def _status_word(match: re.Match[str]) -> Judged:
    if "DF" in match["bits"].split():
        return MEDIUM, "the drive reported a fault of its own (DF)", True
    if "Busy" in match["bits"].split():
        return TIMEOUT, "the drive was still busy with the failed command", False
    return OTHER, f"status of the failed command: {match['bits'].strip()}", False


def _description(match: re.Match[str]) -> Judged:
    what = match["what"]
    if what == "host bus error":
        return HOST_BUS, _SAYS[HOST_BUS], True
    if what == "interface fatal error":
        return LINK, f"{_SAYS[LINK]}: {what}", True
    if what == "unknown FIS":
        return PROTOCOL, "the controller was sent a frame it does not know", True
    return LINK, f"{CHANGED}: {what}", False


def _link_down(match: re.Match[str]) -> Judged:
    # SStatus bits 3:0 (DET): 1 = a device is sensed and no communication is established.
    if int(match["status"], 16) & 0xF == 1:
        return LINK, "the port senses a part, but no link came up", True
    return LINK, "no link: nothing sensed at the port", False


def _masked(match: re.Match[str]) -> Judged:
    blame = registers.blame_of_mask(int(match["mask"], 16))
    what = match["what"].strip()
    if blame is None:
        return OTHER, f"{what}: no reason given", True
    return blame[0], f"{what}: {_SAYS[blame[0]]}", blame[1] != "device error"


def _setting(match: re.Match[str]) -> Judged:
    """A feature that was to be set and was not: the drive works without it."""
    blame = registers.blame_of_mask(int(match["mask"], 16))
    return (blame[0] if blame else OTHER), f"{match['what'].strip()}: not set", False


RESULT: Final = judged(
    r"\s*res [0-9a-f]{2}/[0-9a-f:/]+.*?Emask 0x(?P<mask>[0-9a-f]+) \((?P<blame>[^)]+)\)", _result
)
"""The second line of a failed command, which names no port."""

_SET_UP: Final = (
    r"configured for|disabling queued|EH complete|SATA max|PATA max|DUMMY|\d+ sectors|"
    r"Read log |.* [Ll]og (?:not supported|failed)|.* Log not supported|Features: |"
    r"unexpected _GTF length|_GT[FM] |ACPI cmd |ACPI _SDD|ACPI set timing|ACPI get timing|"
    r"ACPI: failed the second time|failed to get NCQ|device reported invalid CHS sector|"
    r"supports DRM functions|LPM support broken|HPA |native sectors|new n_sectors|old n_sectors|"
    r"n_sectors mismatch|device aborted resize|C(?:ommand duration|DL )|NCQ |FORCE: |Enabling|"
    r"[Ff]ailed to (?:enable|disable|clear) |request sense failed|WARNING: |(?:Disable|Enable|"
    r"Initialize) CDL|Manually issue|PMP |Port Multiplier|failed to configure Port|BMDMA: |"
    r"failed to (?:enable|disable) (?:AA|ATAPI AN|DEVSLP|Sense)|WARNING: ATAPI is|"
    r"unsupported CDB|device does not support DMA|simplex DMA|no PIO support|"
    r"WARNING: device requires firmware update|\s+contact the vendor|sense data|"
    r"invalid (?:multi_count|command format|cdb|service|transfer|checksum|CHS)|non-matching|"
    r"Too many concurrent|Invalid number of concurrent|disabling LPM|Could not decode error|"
    r"EM read buffer|BMDMA stat|irq trap|Failed to (?:read|create)|Invalid Sense|host does not|"
    r"applying (?:bridge|PMP)|bridge limits|sector_size=|waiting for device|Security|READ LOG|"
    r"both IDENTIFYs aborted"
)
"""What is said while a drive is set up (libata-core.c, libata-acpi.c, libata-scsi.c)."""

_BEGINS: Final = (
    judged(
        r"exception Emask 0x(?P<mask>[0-9a-f]+) SAct 0x[0-9a-f]+ SErr 0x(?P<serr>[0-9a-f]+)"
        r" action 0x[0-9a-f]+(?P<frozen> frozen)?",
        _exception,
    ),
    RESULT,
    judged(r"SError: \{(?P<bits>[^}]*)\}", _s_error),
    judged(r"error: \{(?P<bits>[^}]*)\}", _error_word),
    judged(r"status: \{(?P<bits>[^}]*)\}", _status_word),
    judged(
        r"(?:irq_stat 0x[0-9a-f]+, |edma_err_cause=\w+, )?(?P<what>interface fatal error|"
        r"host bus error|unknown FIS|connection status changed|PHY RDY changed)",
        _description,
    ),
    rule(r"failed command: (?P<command>.+)", OTHER, FAILED + "{command}", False),
    rule(r"cmd [0-9a-f]{2}/", OTHER, "the failed command's registers", False),
    rule(r"irq_stat 0x|edma_err_cause=", OTHER, "interrupt status of the port", False),
)

_LINKS: Final = (
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
    rule(r"limited to UDMA/33 due to 40-wire", LINK, "the cable has 40 wires", False),
    rule(r"NCQ disabled due to", TIMEOUT, "so many errors that the kernel gave up queueing"),
    judged(
        r"SATA link down \(SStatus (?P<status>[0-9A-Fa-f]+) SControl [0-9A-Fa-f]+\)", _link_down
    ),
    rule(r"SATA link up (?P<speed>[\d.]+ [GM]bps)", LINK, "link up at {speed}", False),
    rule(r"COMRESET failed|hardreset failed", LINK, "the link did not come up after a reset"),
    rule(r"softreset failed \(device not ready\)", TIMEOUT, "the drive did not become ready"),
    rule(r"SRST failed|softreset failed", LINK, "the drive did not answer a reset"),
    rule(r"reset failed, giving up", LINK, "the link did not come up; the kernel gave up"),
    rule(
        r"reset failed \(|prereset failed|follow-up softreset",
        LINK,
        "a reset of the link failed",
        False,
    ),
    rule(r"failed to recover (?:link|PMP)", LINK, "the link did not come back; it was given up"),
    rule(r"failed to resume link|link resume succeeded", LINK, "the link was slow to wake", False),
    rule(r"(?:hard|soft) resetting (?:link|port)", LINK, "the link was reset", False),
    rule(r"PHY status changed|link offline|waiting for port", LINK, "the link changed", False),
    rule(
        r"(?:link|port) is slow to respond|device not ready|.*failed to respond",
        TIMEOUT,
        "the drive was slow to answer after a reset",
        False,
    ),
)

_DRIVES: Final = (
    judged(
        r"(?P<what>failed to (?:IDENTIFY|set xfermode|read native max address|set max address"
        r"|re-read IDENTIFY data)[^(]*|(?:VERIFY|FLUSH|STANDBY IMMEDIATE|Check power mode) failed)"
        r".*?(?:err_mask=|Emask )0x(?P<mask>[0-9a-f]+)",
        _masked,
    ),
    judged(
        r"(?P<what>[^(,]*?(?:failed|retrying|failed to)[^(,]*?),? \(?(?:err_mask=|error_mask=|"
        r"Emask[= ])"
        r"0x(?P<mask>[0-9a-f]+)",
        _setting,
    ),
    rule(r"qc timeout", TIMEOUT, "a command was not answered in time"),
    rule(r"lost interrupt", HOST_BUS, "an interrupt from the controller was lost"),
    rule(r"failed to IDENTIFY after ACPI", PROTOCOL, "the drive did not identify itself", False),
    rule(r"(?:PMP )?revalidation failed", PROTOCOL, "the drive did not identify itself again"),
    rule(r"disable(?:d| device)\s*$", PROTOCOL, "the kernel gave the drive up"),
    rule(r"detaching \(SCSI", LINK, "the drive was taken off", False),
    rule(r"(?:model|serial) number mismatch|class mismatch", PROTOCOL,
         "the drive came back as another"),
    rule(r"EH pending after", PROTOCOL, "the kernel gave up after many errors in a row"),
    rule(r"illegal qc_active", PROTOCOL, "the controller reported commands nobody gave"),
    rule(r"Drive reports diagnostics failure", MEDIUM, "the drive failed its own start-up test"),
    rule(r"fault or invalid emulation", OTHER, "the line before goes on", False),
    rule(r"link online but .*misclassified", PROTOCOL, "the drive did not say what it is", False),
    rule(r"failed to read log page 10h|log page 10h", OTHER, "no log of the failed command", False),
    rule(r"failed to (?:read|write) (?:SCR|PMP)|failed to stop|failed to reset engine", OTHER,
         "the port did not take a command", False),
    rule(r"head unload failed|UNIT ATTENTION persists", PROTOCOL, "a command failed", False),
    rule(r"drained \d+ bytes", PROTOCOL, "left-over data was taken out of the port", False),
    rule(r"port disabled|DUMMY", OTHER, "the port is not used", False),
)  # fmt: skip

_STRINGS: Final = chatter(r"(?:ATA(?:PI)?|CFA)(?:-\d+)?: |Model '", "the drive was found")
"""First: what stands behind them is the drive's own word."""

FAMILY: Final = Family(
    "ata",
    re.compile(r"^(?P<dev>ata\d+(?:\.\d+)?): "),
    (_STRINGS, *_BEGINS, *_LINKS, *_DRIVES, chatter(_SET_UP, "the drive was set up")),
    more=(RESULT,),
    complains=PROTOCOL,
)

LOOSE_RESULT: Final = Family("ata", re.compile(r"^(?=\s*res [0-9a-f]{2}/)"), (RESULT,))
"""The second line of a failed command where a log has it as a line of its own."""

HOST: Final = Family(
    "ata",
    re.compile(r"^(?:ahci|ata_piix|ata_generic|sata_\w+|pata_\w+) (?P<dev>[0-9a-f:.]+): "),
    (
        rule(
            r"AHCI controller unavailable|Controller reset failed|controller reset failed|"
            r"failed to start port|DMA enable failed|failed to enable device after resume",
            HOST_BUS,
            "the drives' controller itself did not answer",
        ),
        rule(
            r"failed to stop|Failed to wake up port|failed to clear device error|"
            r"Failed to (?:en|dis)able FBS|interrupt on disabled port",
            HOST_BUS,
            "the drives' controller did not take a command",
            False,
        ),
        chatter(
            r"(?:AHCI|version|flags|SSS flag|controller|masking|implemented|forcing|JMB|enabling|"
            r"Found \d+ remapped|Switch your BIOS|BIOS |using|quirk|port \d+ is not|PCI|MAP|"
            r"irq|can't|port does not support|BAR|both AHCI|MULTI|Invalid port map|limiting|"
            r"turning|applying|NUMA)",
            "what the controller's driver said",
        ),
    ),
)
"""Wordings: ``drivers/ata/libahci.c``, ``ahci.c``."""
