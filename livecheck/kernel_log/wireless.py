"""Wireless cards: their own processor, their firmware, their bus.

Wordings: Linux 6.1 and 6.12 ``drivers/net/wireless/intel/iwlwifi``, ``ath/ath10k``, ``ath11k``,
``ath12k``, ``ath9k``, ``realtek/rtw88``, ``rtw89``, ``mediatek/mt76``, ``broadcom``,
``drivers/base/firmware_loader/main.c``, ``net/mac80211``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import errnos
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import FIRMWARE, HOST_BUS, LINK, PROTOCOL, TIMEOUT

DRIVERS: Final = (
    r"(?:iwlwifi|iwl\w+|ath\d*\w*|mt7\w+|rtw\w*|rtl\w+|r8\w+u|brcm\w+|b43\w*|wl|mwifiex\w*|wcn\w+"
    r"|rt2\w+|rsi\w*|carl9170)"
)


OPTIONAL: Final = "a file that is not needed is not there"


_NO_FILE: Final = 2
_CRASHED: Final = 108
"""ESHUTDOWN: not sent, as the card's processor had crashed (ath10k ``wmi.c``, from memory)."""


def _start(match: re.Match[str]) -> Judged:
    number = int(match["errno"])
    if number == _NO_FILE:
        return FIRMWARE, "a firmware file of the driver is missing or was refused", False
    asked = number not in errnos.SET_UP and number != _CRASHED
    return errnos.layer_of_errno(number), "the card did not start, or stopped answering", asked


def _request(match: re.Match[str]) -> Judged:
    number = int(match["errno"])
    layer = errnos.layer_of_errno(number)
    told = layer in (TIMEOUT, HOST_BUS, LINK) and number != _CRASHED
    return layer, "the card failed a request", told


def _urb(match: re.Match[str]) -> Judged:
    """A card on USB: what the number says of the way to it."""
    layer = errnos.ERRNO_LAYER.get(int(match["errno"]), PROTOCOL)
    return layer, "the card failed a request", layer in (TIMEOUT, LINK)


_PROBE: Final = judged(
    r"(?:probe of (?P<dev>\S+)|probe with driver \S+) failed with error -(?P<errno>\d+)", _start
)

_GONE: Final = (
    rule(
        r"HW error, resetting before reading|Timeout waiting for hardware access|"
        r".*0x[fF]{8}|.*device is gone|iwlwifi transaction failed|Failed to resume the device|"
        r"Read failed at|.*bus is down|Firmware wakeup failed|rx ring became corrupted|"
        r"[Ff]ailed to wake|[Uu]nable to (?:read from|wakeup)|[Dd]evice gone|"
        r"link down error during global reset|"
        r"[Cc]ard not present|device is gone|Hardware became unavailable|"
        r"Device has been (?:removed|"
        r"ejected)|Failed to wakeup|mac power on failed|failed to power on mac|pci bus timeout|"
        r"xtal si not ready|Fatal DMA error|DMA failed to stop .*0xffffffff|bus not ready|"
        r"MAC is in "
        r"deep sleep|chip backplane type 15 ",
        HOST_BUS,
        "the card is gone from its bus or cannot be reached",
    ),
    rule(
        r"[Dd]river own failed|"
        r"Timeout (?:waiting )?for (?:driver own|firmware|\w+ (?:own|firmware))",
        TIMEOUT,
        "the card's own processor is silent",
    ),
    rule(r"failed to poll ", TIMEOUT, "the card did not switch on in time"),
)

_FIRMWARE: Final = (
    # Calibration, debug and newer interface files that most cards do without.
    chatter(r"Direct firmware load for \S*(?:pre-cal-|/cal-|iwl-debug|\.pnvm|board-2|-yoyo)",
            OPTIONAL),
    rule(
        r"Direct firmware load|firmware: failed to load|no suitable firmware|"
        r"[Cc]ould not (?:find|load) .*[Ff]irmware|No supported firmware|qmi failed to load|"
        # rtw88/main.c, rtw89/fw.c: it waited for the file, and there was none.
        r"failed to (?:fetch|request) .*|failed to wait firmware completion|"
        r"Firmware file .* not found|[Uu]nable to (?:find|load) .*firmware|firmware not available|"
        # iwl3945 and iwl4965 before Linux 2.6.28, which spell it so.
        r"\S+\.ucode firmwre file req failed|Could not read microcode|"
        # rtw89/fw.c: the file is not as this driver reads it.
        r"\[ERR\](?:fw bin size|not supported|fw type|mss)|parse fw header fail|"
        r"fw type \d+ isn't recognized|invalid mfw|unknown fw header",
        FIRMWARE,
        "a firmware file of the driver is missing or was refused",
        False,
    ),
    chatter(r"(?:minimum|maximum) version required|check git:|[Dd]etected|[Ll]oaded firmware|"
            r"[Ff]irmware version|Firmware (?:init|running)|api flags|TLV_|loaded PNVM|base HW|"
            r"Detected RF|qmi (?:chip|fw)|chip_id|fw_version|htt-ver|board_file|kconfig|"
            r"enabling device|pci irq|MSI vectors|wifi|HW/SW Version|WM Firmware|WA Firmware|ASIC",
            "what the driver said while setting the card up"),
)  # fmt: skip

_CRASHES: Final = (
    # Asked for once more before it is given up (ath10k/wmi.c, since Linux 6.10).
    chatter(
        r"failed to receive \w+ \w+ completion, polling\.|service ready completion rec",
        "the card was slow to say that it is ready",
    ),
    rule(
        r"Microcode SW error|FW failed to be active|[Ff]irmware crash|"
        r"[Ff]irmware (?:has )?(?:assert|error)|"
        r"(?:0x[0-9A-F]{8} \| )?\w*SYSASSERT|FW error in SYNC|Firmware error during|"
        r"received unsolicited fw crash|Failed to (?:start|run) \w* ?ucode|[Hh]ardware error 0x|"
        r"SER catches error|chip (?:full )?reset failed|Chip reset failed|Unable to reset channel|"
        r"could not probe fw|Failed to (?:get|release|start|send) patch|[Hh]ardware init failed|"
        r"fw crash|"
        r"Failed to run (?:INIT|PHY|init)(?!.*-\d)|failed to (?:check fw|check download|validate)|"
        r"ddma fw .* fail|Write fail, rf is disabled|FW Error notification|"
        r"Command \w+ failed: FW Error|"
        r"Tx (?:\d+ )?queue init failed|failed to (?:receive|wait for)(?!.*(?:-\d|timed out))|"
        r"failed to download (?:firmware|fw)|download firmware failed|fw security fail|"
        r"PHY .* not started|"
        r"FW does not process h2c|(?:rtlwifi: )?firmware not ready|"
        r"Hardware error detected|wmi (?:unified|service) ready event not received|"
        r"polling timed out|.*Dongle setup failed|"
        r".*image file download failed|Polling FW ready fail|unable to get target info",
        PROTOCOL,
        "the card's own processor crashed or did not start",
    ),
    rule(
        r"Timed out waiting for HW restart|Failed to load firmware chunk|"
        r"Could not load the \[\d+\] uCode section|"
        r"Error sending \S+: "
        r"time out|Queue \d+ (?:is )?(?:(?:in)?active on fifo|stuck)|[Ss]ervice connect timeout|"
        r"wmi command \d+ timeout|.*Timeout cmd id|"
        r"Message \w+ \(seq \d+\) timeout|MCU message .* timed out|"
        r"command .* timed out|fail to flush all tx|DPC: .*timeout|"
        # rt2x00/rt2800lib.c: the chip's own registers stay busy; brcmfmac/sdio.c: its clock.
        r"WPDMA TX/RX busy|HT Avail timeout",
        TIMEOUT,
        "the card's own processor did not answer in time",
    ),
)

_REQUESTS: Final = (
    rule(
        r"(?:Retry message|Failing on timeout|Master Disable Timed Out|.*firmware didn't ACK|"
        r"[Tt]imed out to flush|.*timer expired|"
        r"failed to flush|firmware failed to leave|failed to get tx report|Timeout|.*\btx timeout|"
        r"[Ff]ailed to (?:leave|enter) (?:\w+ )?(?:lps|ps|ips|idle)|(?:read|write) rf busy|"
        r".*[Tt]ime?d? ?out)",
        TIMEOUT,
        "the card was slow",
        False,
    ),
    judged(
        r"(?:[Cc]ould not|[Uu]nable to initiali[sz]e|"
        r"[Ff]ailed to (?:init|power|probe|setup|start|run|connect|boot|get board|load|"
        r"read|write|wake|register|attach|receive)|probe (?:of|with)|error in|core_init|qmi failed|"
        r"firmware boot|Failed to initialize|Start|\w+_init\w*:?).*?[ (:]-(?P<errno>\d+)\)?",
        _start,
    ),
    judged(r".*\b(?:urb|vendor request)\b.*?[ (:=]-(?P<errno>\d+)\)?", _urb),
    judged(r".*?(?:failed|error|[Ff]ailed to|err|ret|status)\b.*?[ (=:]-(?P<errno>\d+)\)?",
           _request),
    rule(r"(?:[Ff]ailed to (?:init|probe|power|start|setup|connect)|"
         r"(?:.*\b)?(?:re)?[Pp]robe (?:of \S+ )?failed)", PROTOCOL, "the card did not start"),
    rule(r"\[ERR\]|[Ff]ailed to (?:send|get (?:tx|signal))", PROTOCOL,
         "the card failed a request", False),
)  # fmt: skip

_CHATTER: Final = chatter(
    r"missed_beacons|RF_KILL bit toggled|reporting RF_KILL|Radio type|WRT: |No beacon heard|"
    r"Unhandled alg|"
    r"BIOS contains|Start IWL |Status: 0x|Transport status|0x[0-9A-Fa-f]{8} \||IML/ROM dump|"
    r"[UL]MAC \w* ?PC|CSR values|Collecting data|SecBoot CPU|Current CMD queue|Restarting|"
    r"iwl_\w+ bad state|Unsupported splx|SWBA overrun|no channel configured|Unknown eventid|"
    r"invalid (?:vht|ht|rate|hw)|unhandled firmware c2h|PHY ctxt cmd error|Unexpected|"
    r"(?:dst|src) srng id|(?:num|last|is)_\w+(?::| =) |data_sent=|ps_mode=|"
    r"[Ff]ailed to (?:remove|add|set|configure|update|get|find|delete|process|copy|submit|build) |"
    r"RX QUEUE|Rx A-MPDU|TX on unused|Queue \d+ |TB bug|Error: Response NULL|Sniffing|"
    r"L1 (?:Enabled|Disabled)|PCI dev|RFIm|Crystal|Applying|rtw_usb|stop vif|coex|"
    r"MAC has already|switching from|country|Ignoring|limiting|already|NIC access|"
    r"unsupported (?:crypto|HTC)|received unexpected|peer|vdev|firmware stats|"
    r"None of the WOWLAN|Not valid error log|CSR_\w+ =|HCMD_ACTIVE|Firmware not running|"
    r"mac start retry|Fail to find|"
    r"iwl_mvm_|FW status|Falling back to|msdu_done|AP off|error beacon|"
    r"(?:MT\d+ )?mac_reset not supp|Hardware name|missing ADVANCED_ALIVE|"
    r"firmware register dump|failed to extract chip|Could not stop (?:RX|TX)|.*-MISMATCH|"
    r"couldn't |Could not suspend|enabling device|HT(?!C)|Direct-Access|Registered PHC|WFPM_|"
    r"CONFIG_|"
    r"Allocated 0x|Unable to find|Fseq |\S+ hw\d|firmware (?:ver\b|register)|\[\d+\]: |"
    r"Copy Engine|FW already configured|"
    r"device successfully|chip (?:reset|rfe)|disabling ASPM|WOW |start vif",
    "what the card's driver said",
)

_RULES: Final = (_PROBE, *_GONE, *_FIRMWARE, *_CRASHES, *_REQUESTS, _CHATTER)

FAMILIES: Final = (
    Family(
        "wireless",
        re.compile(
            rf"^{DRIVERS} (?P<dev>[0-9a-f]{{4}}:[0-9a-f:.]+|\d+-[\d.]+(?=:)|mmc\d+:\w+|"
            r"[0-9a-f]{6,}\.\w+)"
            r"(?::[\d.]+)?: (?:phy\d+: )?"
        ),
        _RULES,
        complains=PROTOCOL,
    ),
    Family("wireless", re.compile(r"^ath: (?P<dev>phy\d+): "), _RULES, complains=PROTOCOL),
    Family("wireless",
           re.compile(rf"^(?P<driver>{DRIVERS}): (?:brcmf\w*: )?"), _RULES, claims=False,
           complains=PROTOCOL),
    Family("wireless", re.compile(r"^(?P<driver>b43)-phy\d+(?: ERROR)?: "), _RULES,
           complains=PROTOCOL),
    Family(
        "wireless",
        re.compile(r"^ieee80211 (?P<dev>phy\d+): (?:\w*[_\d]\w*: )?(?:(?:Error|Warning) - )?"),
        (
            rule(r"Hardware (?:restart was requested|became unavailable)", PROTOCOL,
                 "the card was started anew", False),
            *_RULES,
        ),
        claims=False,
        complains=PROTOCOL,
    ),
    Family(
        "wireless",
        # drivers/bus/mhi/host/pm.c: the way to the cards of one maker.
        re.compile(r"^mhi (?P<dev>\S+): "),
        (
            rule(r"Device (?:failed to enter|link is not)|Did not enter|Failed to (?:reset|power)|"
                 r".*error recovery|.*RDDM", HOST_BUS,
                 "the card is gone from its bus or cannot be reached"),
            rule(r"Direct firmware load|Error loading firmware|Firmware image is not", FIRMWARE,
                 "a firmware file of the driver is missing or was refused", False),
            chatter(r"Requested to power|Power on setup|Wait for|local ee|Resuming|Allowing",
                    "the card was switched on"),
        ),
        complains=PROTOCOL,
    ),
    Family(
        "wireless",
        # net/mac80211/mlme.c; names of interfaces: systemd.net-naming-scheme(7).
        re.compile(r"^(?P<dev>wl(?:an\d+|[opsx]\w+)): "),
        (
            rule(r".* timed out|[Cc]onnection to AP \S+ lost", TIMEOUT,
                 "the access point did not answer", False),
            chatter(r"", "joining and leaving a network"),
        ),
    ),
    Family(
        "wireless",
        # Said by WARN(), without the device's name (iwlwifi/pcie/trans.c, rtw88/main.c).
        re.compile(r"^(?=Timeout waiting for hardware access \(CSR_GP_CNTRL 0x|"
                   r"firmware crash, start reset and recover)"),
        (
            rule(r"Timeout", HOST_BUS, "the card is gone from its bus or cannot be reached"),
            rule(r"", PROTOCOL, "the card's own processor crashed or did not start"),
        ),
    ),
    Family(
        "wireless",
        re.compile(r"^(?:cfg80211|mac80211): "),
        (
            rule(r"failed to load regulatory", FIRMWARE, "the table of channels is missing", False),
            chatter(r"", "rules of the radio"),
        ),
    ),
)  # fmt: skip
