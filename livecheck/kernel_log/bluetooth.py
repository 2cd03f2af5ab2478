"""The Bluetooth half of a wireless card.

Wordings: Linux 6.1 and 6.12 ``net/bluetooth/hci_core.c``, ``hci_event.c``, ``drivers/bluetooth``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import errnos
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import FIRMWARE, LINK, PROTOCOL, TIMEOUT

_NO_FILE: Final = 2


def _failed(match: re.Match[str]) -> Judged:
    if int(match["errno"]) == _NO_FILE:
        return FIRMWARE, "a firmware file of the driver is missing or was refused", False
    layer = errnos.layer_of_errno(int(match["errno"]))
    # A request that only failed is one the firmware does not know.
    return layer, "the Bluetooth half failed a request", layer != PROTOCOL


RULES: Final = (
    rule(r"command (?:0x[0-9a-f ]+ )?tx timeout|.*command timed out|.*boot timed? ?out|"
         r"Execution of wmt command timed out|.*[Tt]imeout(?! failed)|.*timed out", TIMEOUT,
         "the Bluetooth half did not answer in time"),
    rule(r"[Hh]ardware error 0x|.*firmware crash|Exception|coredump|.*Error detected|"
        r"Controller in error|Firmware loading failed|.*last (?:usb )?reset failed", PROTOCOL,
         "the Bluetooth half's own processor crashed"),
    rule(r"(?:Direct firmware load|[Ff]ailed to load \w*.*(?:firmware|file|\.bin)|"
         r".*[Ff]ile .*not found|.*\bfw corrupted|"
         r"firmware: failed|.*no suitable)", FIRMWARE,
         "a firmware file of the driver is missing or was refused", False),
    chatter(r"Failed to generate devcoredump", "no record of its crash was kept"),
    chatter(r"Reset \w+ device via|Found device firmware: ", "what its driver does"),
    rule(r"Frame reassembly failed|corrupted (?:SCO|ACL|event) packet", LINK,
         "data was damaged on the way", False),
    judged(r"(?:Unable to|Reading|Entering|Exiting|Opcode|Sending|Failed to|failed|.*?(?:failed|"
           r"[Ee]rror|ret)\b)"
           r".*?[ (:]-?(?P<errno>\d+)\)?\s*$", _failed),
    chatter(
        r"Malformed|unexpected (?:event|cc)|[Uu]nknown |urb |Ignoring|[Ii]ntel |Waiting for|"
        r"Device (?:booted|revision|setup)|Secure boot|OTP |API lock|Debug lock|Minimum firmware|"
        r"Found |[Ff]irmware (?:revision|timestamp|Version|SHA1|already|loaded)|Boot Address|"
        r"BootAddress|Boot Param|Applying|Bootloader|BCM|RTL: |QCA|AOSP|HCI |MSFT|SCO packet|"
        r"ACL packet|ISO packet|link tx|killing stalled|sending frame|Cannot|advertising data|"
        r"last event|too (?:big|small)|LE |Suspend|using |CSR|No (?!alive)|Resetting|"
        r"Read |Legacy|DSM|PPAG|"
        r"chip id|features|'|examining|rom_version|loading|cfg_sz|patch|read Intel|"
        r"corrupted|Fseq |Bad flag|Product|Build|firmware|Setting|"
        r"setting interface|ACPI entry|Dropping|rampatch|NVM|RAM |HW/SW|state|quirk|Enable|bcsp|"
        r"Controller",
        "what the Bluetooth half's driver said",
    ),
)  # fmt: skip

FAMILY: Final = Family(
    "wireless", re.compile(r"^(?:Bluetooth: |bluetooth )(?P<dev>hci\d+):? (?:\w+: )?"), RULES,
    complains=PROTOCOL,
)  # fmt: skip
