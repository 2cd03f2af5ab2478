"""Chips of the board that no other family knows: TPM, USB-C, sound, wired network, and
drivers at large that could not start; sleeping and waking.

Wordings: Linux 6.1 and 6.12 ``drivers/char/tpm``, ``drivers/usb/typec``, ``sound/hda``,
``sound/pci/hda``, ``sound/soc/sof``, ``net/sched/sch_generic.c``, ``drivers/net/ethernet``,
``drivers/base/dd.c``, ``drivers/base/power/main.c``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import errnos
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import FIRMWARE, HOST_BUS, LINK, POWER, PROTOCOL, THERMAL, TIMEOUT

TPM: Final = "tpm"
USB_C: Final = "usb-c"
SOUND: Final = "sound"
NETWORK: Final = "network"
DRIVER: Final = "driver"
SLEEP: Final = "sleep"


SILENT: Final = "it did not start or answer"


def _failed(match: re.Match[str]) -> Judged:
    number = int(match["errno"])
    asked = number not in errnos.SET_UP
    return errnos.layer_of_errno(number), SILENT, asked


_NOT_THERE: Final = frozenset({6, 19})
"""ENXIO, ENODEV: a driver at large that finds nothing to drive."""


def _driver(match: re.Match[str]) -> Judged:
    layer, says, asked = _failed(match)
    return layer, says, asked and int(match["errno"]) not in _NOT_THERE


def _missed(match: re.Match[str]) -> Judged:
    layer = errnos.layer_of_errno(int(match["errno"]))
    return layer, "it did not sleep or wake as asked", layer in (TIMEOUT, HOST_BUS)


_MISSING: Final = "a firmware file of the driver is missing"
_NO_FILE: Final = 2


def _sound(match: re.Match[str]) -> Judged:
    """ENOENT of a sound chip's driver is a file that is not there (sound/soc/sof/core.c)."""
    missing = int(match["errno"]) == _NO_FILE
    return (FIRMWARE, _MISSING, False) if missing else _failed(match)


def _part(match: re.Match[str]) -> Judged:
    """A part of a sound card: serious where the way to it, or its silence, is told."""
    layer, says, _ = _sound(match)
    return layer, says, layer in (LINK, TIMEOUT, HOST_BUS)


_FAILING: Final = r".*?(?:fail|error|send\(\))\w*\b.*?[ (:=]-(?P<errno>\d+)\)?"
_ERRNO: Final = judged(_FAILING, _failed)

_TPM: Final = Family(
    TPM,
    re.compile(r"^tpm\w* (?P<dev>\S+): "),
    (
        rule(r"TPM in field failure mode", FIRMWARE, "the TPM says that it has failed"),
        chatter(r"\[Hardware Error\]: Adjusting reported|IRQ index", "what the TPM said"),
        rule(r"Operation Timed out|.*[Tt]imeout\b|.*timed out", TIMEOUT, "the TPM did not answer"),
        rule(r"invalid TPM_STS.*ff|.*0xffffffff", HOST_BUS, "the TPM is gone from its bus"),
        rule(r".*self ?test failed", PROTOCOL, "the TPM failed its own test"),
        chatter(r"A TPM error|can't request region|.*[Ee]rror \(\d+\)|TPM is |starting up|AMD fTPM|"
                r"Operation Canceled|TPM savestate|"
                r"\[Firmware|1\.2 TPM|2\.0 TPM|.*TPM interrupt|"
                r"TPM interrupt", "what the TPM said"),
        _ERRNO,
        rule(r"CRC mismatch", LINK, "data was damaged on the way to the TPM"),
        rule(r"ACPI Start failed|.*(?:integrity|HMAC) (?:response )?check failed", PROTOCOL,
             "the TPM failed a request"),
    ),
    complains=PROTOCOL,
)  # fmt: skip

_USB_C: Final = Family(
    USB_C,
    re.compile(r"^(?:ucsi_[\w.]+|nvidia-gpu|typec\w*|tcpm|tps6598x|fusb302|ucsi|"
               r"thunderbolt) (?P<dev>\S+): "
               r"(?:[0-9a-f]+(?::\d+)?(?: <-> [0-9a-f]+:\d+ \(\w+\))?: )?"),
    (
        rule(r"error -(?!62|110)\d+: PPM init failed", PROTOCOL,
             "the controller of the USB-C port told what cannot be", False),
        # Seen on many sound laptops, whose firmware answers late, and on graphics cards whose
        # board has no such port.
        rule(r".*ACK failed|.*PPM init failed|failed to reset PPM|.*GET_\w+ failed|"
             r"probe with driver \w+ failed with error -110|"
             r"(?:\d+:\d+: )?failed to send driver ready|"
             r"(?:\w+: )?timeout reading|"
             r"i2c timeout error|i2c_transfer failed|ucsi_ccg_init failed", TIMEOUT,
             "the controller of the USB-C port answered too late", False),
        rule(r".*[Tt]imed? ?-?out", TIMEOUT, "the controller of the USB-C port did not answer",
             False),
        rule(r"Overcurrent condition|Reverse Current|VCONN Switch", POWER,
             "the port met a wrong current", False),
        rule(r"[Dd]ead[ -]battery condition", POWER, "the port met an empty battery", False),
        chatter(r"possible UCSI driver bug|.*not supported|con\d+: failed to register alt|.*bug|"
                r"unknown error|.*(?:dis)?connected|device links to|interrupt for|"
                r"new (?:device|host|retimer) found|device link creation|ICM |bound |"
                r"(?:\d+: )?power cycling|.*hop deactivation failed|failed to read DROM|"
                r"failed to register partner|.*security level|PPM Policy|Hard reset occurred|"
                r"lost during suspend|.*port is locked|not enough bandwidth|"
                r"hotplug event from|no available",
                "what the USB-C port's driver said"),
        _ERRNO,
    ),
    complains=PROTOCOL,
)  # fmt: skip

_SOUND: Final = Family(
    SOUND,
    re.compile(r"^(?:snd_\w+|skl_\w+|hda[-_]intel|sof[-_]\S+|hdaudio|cs\d\d[\w-]+|rt\d+|tas\w+|"
               r"max98\w+|da72\w+|(?:qcom-)?soundwire\w*) "
               r"(?P<dev>[\w:.-]+?): (?:error: |warn(?:ing)?: )?"
               r"|^hda[-_]intel: |^[\w.-]+ (?P<dev2>[\w:.-]+): (?=ASoC: )"
               r"|^[\w-]+ (?P<dev3>sdw:[\w:.-]+): "),
    (
        rule(r"CORB reset timeout|.*CORBRP|no codecs|.*0xffffffff", HOST_BUS,
             "the sound chip did not answer"),
        # sound/hda/hdac_device.c: the controller answers, what hangs on it does not.
        rule(r"no AFG", PROTOCOL, "a part of the sound chip did not tell what it is"),
        # What is said while the state of its processor is written down (sound/soc/sof/debug.c,
        # xtensa/core.c, intel/hda.c).
        chatter(r"(?:-+\[ DSP dump|fw_state|(?:extended )?(?:(?i:ROM) )?status[: ]|EXCCAUSE|"
                r"E[PX]\w+ +0x|trace point|panic at|stack dump|0x[0-9a-f]+: |AR reg|"
                r"(?:dsp|hda) irq|host status|no errors reported)",
                "what the sound chip's own processor was doing"),
        rule(r"Direct firmware load|Failed to read fw|"
             r"SOF firmware and/or topology file not found|(?:\w+-hda )?firmware not found|.*"
             r"[Mm]issing firmware", FIRMWARE, _MISSING, False),
        # sound/hda/hdac_controller.c; sound/soc/sof/fw-file-profile.c, ipc.c.
        chatter(r"Unknown capability|Supported default profiles|- ipc type|\s*(?:Firmware|Topology)"
                r" file:|Check if you have|Optionally it can|\s*https:|unexpected ipc interrupt|"
                r"FW ABI|topology ABI|Failed property|No \S+ binding|unable to find ACP",
                "what the sound's driver said while it started"),
        rule(r".*DSP panic|.*Firmware Oops|.*[Ff]irmware boot (?:failure|failed)|"
             r".*can't enter idle",
             PROTOCOL, "the sound chip's own processor stopped"),
        rule(r"Device with ID register", PROTOCOL, "another sound chip answers, or none"),
        rule(r"Unable to sync register|out of range cmd|"
             r"no reply expected|[Cc]odec #\d+ probe error|hdac prepare failed|"
             r"failed to (?:re)?(?:set|boot) DSP$",
             PROTOCOL, "a request to the sound chip failed", False),
        rule(r"Amp short error|VBST (?:Over|Under)|DCM VBST|LBST Error", POWER,
             "the amplifier of a speaker met a short or a wrong voltage"),
        rule(r"Over temperature error", THERMAL, "the amplifier of a speaker is too hot"),
        rule(r"azx_get_response timeout|No response from codec|.*ipc timed out|.*[Tt]imed? ?out",
             TIMEOUT, "the sound chip was slow", False),
        judged(_FAILING, _sound),
        judged(rf"(?i:{_FAILING})", _part),
        chatter(r"spurious response|Unstable|bound|CORB|azx|Unable|.*not found|.*ASoC|DSP|"
                r"Topology|"
                r"Firmware|autoconfig|hda|Codec|codec|.*control|Too|enabling|Applying|IRQ timing|"
                r".*[Bb]us clash",
                "the sound's driver"),
    ),
    complains=PROTOCOL,
)  # fmt: skip

_STUCK: Final = rule(
    r"(?:NETDEV WATCHDOG: .*|.*)transmit queue \d+ timed out|Detected (?:Hardware|Tx) Unit Hang|"
    r".*Tx Unit Hang",
    TIMEOUT, "the network chip sent nothing for seconds",
)  # fmt: skip

_NETWORK: Final = Family(
    NETWORK,
    re.compile(
        r"^(?:r81\d\d|r8152|e1000e?|igb|igc|ixgbe|i40e|ice|alx|atl\d\w+|atlantic|tg3|bnx2x?|jme|"
        r"sky2|skge|forcedeth|8139\w+|virtio_net|ax88\w+) "
        r"(?P<dev>[0-9a-f]{4}:[0-9a-f:.]+|\d+-[\d.]+|\S+?)(?::\d+\.\d+)?"
        r"(?: \(unnamed net_device\)(?: \(uninitialized\))?| (?!NETDEV)\w+)?(?: \([\w ]+\))?: "
    ),
    (
        _STUCK,
        rule(r"PCIe link lost|PCI read failed|.*now detached|.*detach NIC|"
             r"rtl_(?:chipcmd|phyar|eriar|ocp\w*|efusear|csiar|mac_ocp\w*)_cond|"
             r".*PHY reset|Hardware Error|.*0xffffffff|PCI error \(cmd = 0xffff|"
             r"(?:Failed|Unable) to (?:reset|read) (?:the )?(?:PHY|NVM|EEPROM)",
             HOST_BUS, "the network chip does not answer"),
        rule(r"(?:Unable|Failed) to load firmware|Unable to get firmware|Direct firmware load",
             FIRMWARE, _MISSING, False),
        rule(r"rtl_\w+_cond == \d+ \(loop|Reset adapter|.*[Rr]esetting|PCI error|"
             r"Timeout reading|Unexpected|Max .*retries",
             PROTOCOL, "the network chip was started anew", False),
        rule(r"(?:NIC )?[Ll]ink is [Dd]own|(?:NIC )?[Ll]ink is [Uu]p|link (?:up|down)|"
             r"changed |Downshift|Link Speed was downgraded",
             LINK, "the link changed", False),
        _ERRNO,
        rule(r".*[Tt]x timeout", TIMEOUT, "the network chip was slow", False),
        chatter(r"can't disable ASPM|Interrupt Throttling|Some CPU C-states|.*[Jj]umbo|"
                r"The NVM Checksum|Failed to (?:dis|en)able ULP|"
                r"invalid (?:MAC|(?:short |large )?VPD)|Invalid header when|load rtl|"
                r"Using|.*disabled|.*not supported",
                "the network's driver"),
    ),
    complains=PROTOCOL,
)  # fmt: skip

_WATCHDOG: Final = Family(
    NETWORK,
    re.compile(r"^NETDEV WATCHDOG: (?P<dev>\S+) \(\S+\): "),
    (rule(r".*", TIMEOUT, "the network chip sent nothing for seconds"),),
)

_LOST: Final = Family(
    NETWORK,
    # Said by WARN(), without the device's name (igb_main.c, igc_main.c).
    re.compile(r"^ig[bc]: (?=Failed to read reg 0x)"),
    (rule(r"", HOST_BUS, "the network chip does not answer"),),
)

_PROBE: Final = Family(
    DRIVER,
    re.compile(r"^[\w-]+ (?P<dev>\S+): probe (?:of \S+|with driver [\w-]+) "),
    (judged(r"failed with error -(?P<errno>\d+)", _driver),),
    claims=False,
)

MODULE: Final = Family(
    DRIVER,
    # kernel/module/main.c, signing.c, kernel/params.c: of every driver alike.
    re.compile(
        r"^[\w-]+: (?=(?:module verification failed|loading out-of-tree|unknown parameter|"
        r"module license|disagrees about version))"
    ),
    (chatter(r"", "what was said while a driver was loaded"),),
)

ASLEEP: Final = Family(
    SLEEP,
    re.compile(r"^(?:PM: (?:Device (?P<dev>\S+) )?|[\w-]+ (?P<dev2>\S+): (?:PM: )?)"),
    (
        judged(r"failed to (?:suspend|resume|freeze|thaw|restore)[^:]*: error -(?P<errno>\d+)",
               _missed),
        rule(r"\w+\(\): \S+(?: \[\w+\])? returns -?\d+",
             PROTOCOL, "it did not sleep or wake", False),
        rule(r"\*\*\*\* DPM device timeout", TIMEOUT, "it never came to sleep or to life"),
        # drivers/base/power/runtime.c: a driver's books.
        chatter(r"(?:Runtime PM usage count underflow|Unbalanced pm_runtime)",
                "the books of its driver's power saving"),
    ),
    claims=False,
)  # fmt: skip


_ENGINE: Final = Family(
    DRIVER,
    re.compile(r"^mei(?:_\w+)? (?P<dev>[0-9a-f]{4}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7])(?:-\S+)?: "),
    # Silent on many sound machines: switched off in the setup, or reset by the firmware.
    (chatter(r"", "the driver of the firmware's own processor"),),
)

AT_LARGE: Final = Family(
    DRIVER,
    re.compile(
        r"^[\w-]+ (?P<dev>[0-9a-f]{4}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7])(?: \w+)?(?: \([\w ]+\))?: "
    ),
    (chatter(r"enabling device|can't derive routing|PCI INT|irq \d+ for MSI|setting latency|"
             r"enabling bus mastering|BAR \d", "what was said while the device was set up"),),
    complains=PROTOCOL,
)  # fmt: skip
"""Whatever other driver warns of a PCI device: it is told and not judged."""

ON_SMALL_BUSES: Final = Family(
    DRIVER,
    re.compile(
        r"^[\w-]+ (?P<dev>\d+-[\d.]+(?=:\d)|(?:i2c|spi)-[0-9A-Z]{7,8}:[0-9a-f]{2}|"
        r"\d+-00[0-7][0-9a-f])(?::\d+\.\d+)?(?: \w+)?(?: \([\w ]+\))?: "
    ),
    (),
    claims=False,
    complains=PROTOCOL,
)
"""The same of a device on USB, I2C or SPI, where it complains."""

FAMILIES: Final = (_TPM, _USB_C, _SOUND, _WATCHDOG, _NETWORK, _LOST, _PROBE, _ENGINE)
