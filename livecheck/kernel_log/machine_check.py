"""Machine checks, memory errors, and the firmware's own error records.

Wordings: Linux 6.1 and 6.12 ``arch/x86/kernel/cpu/mce/core.c``, ``arch/x86/kernel/nmi.c``,
``drivers/edac/edac_mc.c``, ``mce_amd.c``, ``mm/memory-failure.c``, ``drivers/acpi/apei/ghes.c``,
``drivers/firmware/efi/cper*.c``. Grades: ``Documentation/arch/x86/x86_64/machinecheck.rst``;
records: UEFI specification, appendix "Common Platform Error Record".
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import mce_status
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import FIRMWARE, HOST_BUS, LINK, MACHINE_CHECK, OTHER

CHECK: Final = "machine check, "
STOPPED: Final = "a machine check that stopped something"
SEVERITY: Final = "an error record, "
SECTION: Final = "an error record's section: "
NAMES: Final = "the error record names it"
INSIDE: Final = frozenset({mce_status.CACHE, mce_status.TLB, mce_status.INTERNAL, mce_status.TIMER})
"""Kinds of machine checks that speak of the processor itself."""
GRAVE: Final = frozenset({"fatal", "recoverable"})


def _status(match: re.Match[str]) -> Judged:
    status = int(match["status"], 16)
    found = mce_status.decode(status)
    if "ECC" in (match.groupdict().get("flags") or "") and found.kind == mce_status.CACHE:
        # AMD's memory controllers answer with the code of the level behind all caches.
        behind = mce_status.GENERIC in found.says
        found = found._replace(kind=mce_status.MEMORY) if behind else found
    where = f"bank {match['bank']} of processor {match['cpu']}"
    # A cache that repaired a word of its own did what it is there for; memory that did wears out.
    alone = found.corrected and found.kind in INSIDE
    says = f"{CHECK}{found.severity}, {found.kind} ({found.says}), {where}"
    return MACHINE_CHECK, says, bool(status >> 63 & 1) and not alone


def _unit(match: re.Match[str]) -> Judged:
    """AMD's banks by the unit they watch; the line with the status stands before it."""
    what = match["what"] or "an error it does not name"
    return MACHINE_CHECK, f"{match['unit']}: {what}", False


def _edac(match: re.Match[str]) -> Judged:
    word = "not corrected" if match["kind"] == "UE" else "corrected"
    many = int(match["count"] or 1)
    return MACHINE_CHECK, f"{many} memory error{'s' * (many != 1)}, {word}", True


def _severity(match: re.Match[str]) -> Judged:
    """Its sections say what it speaks of; they are as grave as the record (kernel_log.context)."""
    return MACHINE_CHECK, f"{SEVERITY}{match['severity']}", False


def _section(match: re.Match[str]) -> Judged:
    """How grave it is says the record's head (kernel_log.context)."""
    kind = match["kind"].strip()
    if "irmware" in kind:
        return FIRMWARE, f"a note of the firmware: {kind}", False
    return (LINK if "PCIe" in kind else MACHINE_CHECK), f"{SECTION}{kind}", "memory" in kind


_CHECKS: Final = (
    judged(
        r"CPU (?P<cpu>\d+): Machine Check(?: (?:Exception|Event))?: \S+ Bank (?P<bank>\d+): "
        r"(?:0x)?(?P<status>[0-9a-f]+)",
        _status,
    ),
    judged(
        r"CPU:(?P<cpu>\d+) \([\da-f:]+\) MC(?P<bank>\d+)_STATUS\[(?P<flags>[^]]*)\]: "
        r"0x(?P<status>[0-9a-f]+)",
        _status,
    ),
    judged(r"(?P<unit>[A-Z][\w/ -]+?) Ext\. Error Code: \d+(?:, (?P<what>.+))?", _unit),
    rule(r"Machine check events logged", MACHINE_CHECK, "machine checks were logged", False),
    rule(r"(?:Machine check: |Fatal machine check|.*[Ff]atal machine check|Uncorrected hardware|"
         r"Uncorrected memory error|Memory error not recovered|Killing |Some CPUs didn't|"
         r"CPUs not responding to MCE)", MACHINE_CHECK, STOPPED),
    rule(r"Kernel accessed poison|recovery action|.*[Hh]ardware memory corruption",
         MACHINE_CHECK, "a page of memory was given up"),
)  # fmt: skip

_RECORDS: Final = (
    judged(r"event severity: (?P<severity>\w+)", _severity),
    judged(r"\s*section_type: (?P<kind>[\w /.-]+)", _section),
    rule(r"\s*device_id: (?P<dev>[0-9a-f]{4}:[0-9a-f]{2}:[0-9a-f]{2}\.\d)", LINK,
         NAMES, False),
    rule(r"\s*DIMM location: (?!not present)(?P<dev>[^.]+?)\s*$", MACHINE_CHECK,
         NAMES, False),
    rule(r"", MACHINE_CHECK, "a line of an error record", False),
)  # fmt: skip

_SET_UP: Final = chatter(
    r"\d+ MCE banks|Using \d+|in-kernel MCE|CPU\d+: Thermal monitoring|CPU supports|Intel MCE|"
    r".*CMCI|Decoding|Unexpected|Your BIOS|cpu \d+, |bank\d+|Banks|Ignoring request|Erratum|"
    r"MCA: In-kernel|Unable to init|Timeout: |\[Firmware|Run the above|Giving out device|Ver: |"
    r"HANDLING |ADDR |TSC |PROCESSOR |MISC |DRAM ECC|DCT\d|MCT|Node |\w+: Giving|Table|Total of",
    "about machine checks",
)

FAMILIES: Final = (
    Family(
        "machine check",
        re.compile(r"^Kernel panic - not syncing: (?=.*(?:[Mm]achine check|hardware error))"),
        (rule(r"", MACHINE_CHECK, STOPPED),),
    ),
    Family(
        "machine check",
        re.compile(r"^EDAC (?:\w+ )?MC\d*: "),
        (
            _CHECKS[0],
            judged(
                r"(?P<count>\d+ )?(?P<kind>[CU]E) (?!\[\d+\]: )(?:.*? on (?P<dev>[\w#.-]+)|.*)",
                _edac,
            ),
            chatter(r"HANDLING|ADDR|TSC|PROCESSOR|MISC|Ver:|Giving out|Removed|CPU SrcID|bug in",
                    "about memory errors"),
        ),
    ),
    Family(
        "machine check",
        re.compile(r"^EDAC "),
        (
            rule(r".*PCI (?:Non-Fatal|Fatal|Parity) Error|.*Parity Error on", HOST_BUS,
                 "a bus reported an error"),
            chatter(r"", "about memory errors"),
        ),
    ),
    Family(
        "machine check",
        re.compile(r"^(?:mce: |MCE: |\{\d+\})?(?=\[Hardware Error\]: )\[Hardware Error\]: "),
        (*_CHECKS, *_RECORDS),
    ),
    Family(
        "machine check",
        re.compile(r"^(?:mce|MCE|Memory failure|RAS|CEC|soft offline): (?:0x[0-9a-f]+: )?"),
        (*_CHECKS, rule(r"already hardware poisoned|failed to unmap", MACHINE_CHECK,
                         "a bad page was met again"),
         _SET_UP),
    ),
    Family(
        "machine check",
        re.compile(r"^(?:NMI: |Uhhuh\. |Dazed and confused|Do you have a strange power)"),
        (
            rule(r"PCI system error \(SERR\)|IOCK error|I/O check error", HOST_BUS,
                 "a bus reported an error"),
            rule(r"memory parity error", MACHINE_CHECK, "memory parity error"),
            rule(r"", OTHER, "an interrupt without a reason (NMI)", False),
        ),
    ),
    Family(
        "machine check",
        re.compile(r"^(?:BERT|GHES|HEST|ERST|EINJ|APEI): "),
        (
            # Its sections follow; firmware keeps notes of its own there too.
            rule(r"Error records from previous boot", MACHINE_CHECK,
                 "the firmware kept an error record from before the last restart", False),
            chatter(r"", "about the firmware's error records"),
        ),
    ),
)  # fmt: skip
