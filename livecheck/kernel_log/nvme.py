"""NVMe: time-outs, the controller's state, the status of failed commands.

Wordings: Linux 6.1 and 6.12 ``drivers/nvme/host/pci.c``, ``core.c``, ``constants.c``. Status
codes: NVM Express base specification, "Status Code", as ``include/linux/nvme.h`` lists them.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import errnos, registers
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import HOST_BUS, LINK, LOCKED, MEDIUM, OTHER, PROTOCOL, TIMEOUT

_STATUS: Final[dict[tuple[int, int], tuple[str, str, bool]]] = {
    (0, 0x04): (HOST_BUS, "data did not get through to memory", True),
    (0, 0x05): (PROTOCOL, "the drive took a command back because power is going", True),
    (0, 0x06): (PROTOCOL, "the drive reported an internal error", True),
    (0, 0x07): (TIMEOUT, "a command was taken back", False),
    (0, 0x08): (TIMEOUT, "a command was taken back", False),
    (0, 0x15): (PROTOCOL, LOCKED, False),
    (0, 0x20): (PROTOCOL, "the drive is write-protected", False),
    (0, 0x22): (LINK, "the way to the drive failed for a moment", True),
    (0, 0x82): (TIMEOUT, "the drive was not ready", True),
    (2, 0x80): (MEDIUM, "the drive could not write its medium", True),
    (2, 0x81): (MEDIUM, "the medium failed", True),
    (2, 0x82): (LINK, "data came with a wrong checksum", True),
    (2, 0x83): (LINK, "data came with a wrong check of the application's", True),
    (2, 0x84): (LINK, "data came from another address than asked", True),
    (2, 0x85): (PROTOCOL, "data was not as it should be compared", False),
    (2, 0x86): (PROTOCOL, LOCKED, False),
    (2, 0x87): (OTHER, "blocks were asked for that were never written", False),
    (2, 0x88): (LINK, "data came with a wrong check", True),
    (3, 0x70): (LINK, "the path failed", True),
    (3, 0x71): (TIMEOUT, "the kernel took the command back", False),
}
"""(status code type, status code) -> layer, what it says, serious."""


def _status(match: re.Match[str]) -> Judged:
    kind, code, what = int(match["sct"], 16), int(match["sc"], 16), match["words"].strip()
    found = _STATUS.get((kind, code))
    if found is not None:
        return found[0], f"{found[1]}: {what}", found[2]
    if kind == 2:
        return MEDIUM, f"the medium failed: {what}", True
    if kind == 3:
        return LINK, f"the path failed: {what}", True
    return PROTOCOL, f"the drive refused a command: {what}", False


def _csts(match: re.Match[str]) -> Judged:
    status = int(match["csts"], 16)
    if status & registers.ALL_ONES == registers.ALL_ONES:
        return (
            HOST_BUS,
            "the drive is gone from the bus: its registers read all ones (card, contact, slot "
            "power or port)",
            True,
        )
    if status & registers.CSTS_FATAL:
        return PROTOCOL, "the drive itself reported a fatal state (CSTS.CFS)", True
    return TIMEOUT, "the drive stopped answering and was reset", True


def _timeout(match: re.Match[str]) -> Judged:
    if match["what"].startswith("completion polled"):
        return HOST_BUS, "a command was done, but its interrupt was lost", True
    return TIMEOUT, f"a command was not answered in time: {match['what']}", True


def _start(match: re.Match[str]) -> Judged:
    return errnos.layer_of_errno(int(match["errno"])), "the drive did not come up", True


_PROBE: Final = judged(
    r"(?:probe of (?P<dev>\S+)|probe with driver nvme) failed with error -(?P<errno>\d+)", _start
)

RULES: Final = (
    judged(r"I/O .*?QID \d+ timeout, (?P<what>.+?)\s*$", _timeout),
    judged(r"controller is down; will reset: CSTS=0x(?P<csts>[0-9a-f]+)", _csts),
    judged(r"Failed status: (?:0x)?(?P<csts>[0-9a-f]+), reset", _csts),
    judged(r"Device not ready; aborting \w+, CSTS=0x(?P<csts>[0-9a-f]+)", _csts),
    _PROBE,
    rule(r"Device not ready; aborting", TIMEOUT, "the drive did not become ready"),
    rule(r"[Dd]evice shutdown incomplete", TIMEOUT, "the drive was slow to shut down", False),
    rule(
        r"[Dd]isabling device after reset failure|[Rr]emoving after probe failure|"
        r"Identify Controller failed|failed to mark controller|Could not set queue count|"
        r"IO queues (?:lost|not created)|Reading (?:CAP|VS|CRTO) failed",
        PROTOCOL,
        "the drive did not come up; the kernel gave it up",
    ),
    rule(r"frozen state error detected|failure state error detected", LINK,
         "the link to the drive failed and was reset"),
    rule(r"controller fatal status|fatal error|resetting controller due to persistent", PROTOCOL,
         "the drive reported a fatal state"),
    rule(r"invalid id \d+ completed|request 0x[0-9a-f]+ genctr|could not locate request", PROTOCOL,
         "the drive answered a command nobody gave"),
    rule(r"Fw activation timeout|(?:keep-?alive|(?:failed )?nvme_keep_alive)",
         TIMEOUT, "slow to answer", False),
    chatter(
        r"Abort status|(?:Cancelling|Aborting|Abort) I/O|resetting controller|restart after slot|"
        r"SUBNQN|missing or invalid|"
        r"duplicate ID|(?:globally )?[Dd]uplicate|ctrl returned bogus|ignoring|Ignoring bogus|"
        r"IDs don't match|identifiers changed|"
        r"clearing duplicate|use of /dev/disk|\d+/\d+/\d+ default|Shutdown timeout|"
        r"Does your device have a faulty|[Tt]ry \"nvme_core|bad crto|bad cap|pci function|"
        r"allocated|failed to set APST|could not set timestamp|NPSS is invalid|forcibly allowing|"
        r"[Ff]ailed to (?:allocate|set) host mem|min host memory|failed to register the CMB|"
        r"platform quirk|D3 entry latency|RTD3|Failed to read smart log|Failed to configure AEN|"
        r"async event result|Get FW SLOT|unable to (?:allocate|set)|IO command:|"
        r"passthrough|using unchecked|using deprecated|NVME_IOCTL|Identify |reading |zone info|"
        r"Found shared|Support for shared|VID:DID|detected|IO queue depth|ctrl state|CSTS|"
        r"Minimum device page|command set|Command set|Please enable|Failed to get ANA|no usable|"
        r"no available|Property|creating \d|Firmware bug|rescanning|new ctrl|Removing ctrl",
        "what the driver said while setting the drive up",
    ),
)  # fmt: skip

FAMILIES: Final = (
    Family("nvme", re.compile(r"^nvme: "), (_PROBE,), claims=False),
    Family("nvme", re.compile(r"^nvme (?P<dev>nvme\d+): "), RULES, complains=PROTOCOL),
    Family("nvme", re.compile(r"^nvme (?P<dev>[0-9a-f]{4,5}:[0-9a-f:.]+): "), RULES, claims=False),
    Family(
        "nvme",
        re.compile(r"^(?P<dev>nvme\d+(?:c\d+)?(?:n\d+)?): "),
        (
            judged(
                r".*?(?:blocks?|\(0x[0-9a-f]+\)), (?P<words>.+?) "
                r"\(sct 0x(?P<sct>[0-9a-f]+) / sc 0x(?P<sc>[0-9a-f]+)\)",
                _status,
            ),
            chatter(r"(?:p\d+ ?)+$|detected capacity|ignoring|Dropping", "the drive was found"),
        ),
        claims=False,
    ),
)
