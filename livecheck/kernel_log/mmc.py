"""SD cards and soldered flash.

Wordings: Linux 6.1 and 6.12 ``drivers/mmc/core``, ``drivers/mmc/host/sdhci.c``,
``cqhci-core.c``, ``rtsx_pci_sdmmc.c``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log import errnos
from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import HOST_BUS, LINK, OTHER, POWER, PROTOCOL, TIMEOUT

_SAYS: Final = {
    LINK: "a checksum failed on the way to the card",
    TIMEOUT: "the card did not answer",
}


CAME_UP: Final = re.compile(r"^mmc\d+: new .*card at address")
BEING_SET_UP: Final = re.compile(r"^mmc\d+: error -\d+ whilst initialising")

_CARDS_OWN: Final = 5
"""EIO: the card took the command and reported an error in its status (core/block.c)."""


def _errno(match: re.Match[str]) -> Judged:
    number = int(match["errno"])
    if number == _CARDS_OWN:
        return PROTOCOL, "the card failed a command", True
    layer = errnos.ERRNO_LAYER.get(number, OTHER)
    # ENOMEDIUM: there is no card, or it was pulled.
    return layer, _SAYS.get(layer, "the card failed a command"), match["errno"] != "123"


def _mode(match: re.Match[str]) -> Judged:
    """A faster mode that was tried and did not come about: a slower one is used."""
    layer, says, _ = _errno(match)
    return layer, f"{says} (a faster mode was tried)", False


FAMILY: Final = Family(
    "mmc",
    re.compile(r"^(?P<dev>mmc\d+|mmcblk\d+\w*)(?:: |:[0-9a-f]{4}: )"),
    (
        chatter(r"mmc\d+:[0-9a-f]{4} |p\d|new |card .* removed|SDHCI controller|CQHCI version "
                r"\d+\.\d+\s*$|Command Queue", "plugged or pulled"),
        judged(r"switch to .* failed, err:-(?P<errno>\d+)", _mode),
        rule(r"switch to .* failed", LINK, "a faster mode was tried and not taken", False),
        rule(r"(?:ddr50 )?tuning (?:execution )?failed|no tuning point", LINK,
             "no clean timing was found on the way to the card"),
        judged(r"(?:error|.*[a-z:] error|.*, error|FAILED) -(?P<errno>\d+)", _errno),
        judged(r".*(?:error|failed|err)[:,]? \(?-(?P<errno>\d+)\)?", _errno),
        rule(
            r"Reset 0x[0-9a-f]+ never completed|Controller never released|ADMA error|"
            r"(?:Internal|PLL) clock never|cqhci: (?:CQE|Failed)|Controller removed|"
            r"power regulator never",
            HOST_BUS,
            "the card controller itself failed",
        ),
        rule(r"[Tt]imeout waiting for hardware", TIMEOUT, "the card controller had no answer"),
        rule(r"cqhci: timeout|running CQE recovery", TIMEOUT, "queued commands were not answered"),
        rule(r"[Cc]ard (?:stuck|never left)|left busy|timed out sending|HPI|Power Off Notif",
             TIMEOUT, "the card did not answer"),
        rule(r"(?:command )?response CRC error|data CRC error",
             LINK, "a checksum failed on the way"),
        rule(r"Card is consuming too much power", POWER, "the card drew too much current"),
        rule(r"problem reading (?:SD Status|Bus Speed)|Problem (?:setting|switching)", LINK,
             "the card was not read at the first try", False),
        rule(r"Card removed during transfer|error during resume",
             LINK, "the card went away", False),
        rule(r"Got (?:command|data) interrupt .* even though|Unexpected interrupt|"
             r"unexpected status",
             PROTOCOL, "card and controller disagreed"),
        rule(r"recovery failed", PROTOCOL, "the card did not come back"),
        rule(r"unable to (?:read EXT_CSD|set block size)|Get card status fail", PROTOCOL,
             "the card could not be set up"),
        chatter(
            r"sdhci: |cqhci: |Unknown controller version|Skipping voltage|Resetting controller|"
            r"card (?:has unknown|lacks|claims)|un(?:recognised|specified|known)|host does not|"
            r"Switching to|SD Status: |retrying|cannot verify|no support|Invalid|invalid|"
            r"Hardware doesn't|Failed to (?:set|request|enable|register|read)|No suitable DMA|"
            r"Unable to allocate|Will use|failed to|asked for|bounce|Host failed|has partition|"
            r"defines|Cache is|Enabling|Voltage|power class|BKOPS|Sanitize|tried to|exceeding|"
            r"pending IRQ|SDIO|missing|non-supported|[\d.]+V regulator|boot partition|Locking|"
            r"could not|unable|mmc_erase|sending|starting",
            "what the driver said while setting the card up",
        ),
    ),
    complains=PROTOCOL,
)  # fmt: skip

READER: Final = Family(
    "mmc",
    re.compile(
        r"^(?:rtsx_\w+|sdhci\S*|tifm\w*|jmb38x\w*|memstick\w*|alcor\w*|"
        r"dwmmc\w*|mmc_host|meson-\w*mmc|sunxi-mmc|bcm2835-\w*mmc) (?P<dev>\S+): "
    ),
    (
        judged(r".*(?:fail|error)\w*.* \(?-(?P<errno>\d+)\)?", _errno),
        rule(r".*[Tt]ime(?:d )?-?out", TIMEOUT, "the card reader had no answer"),
        rule(r"phase error|.*CRC", LINK, "no clean timing was found on the way to the card"),
        chatter(
            r"(?:SDHCI|rtsx|Card|card|Failed to register LED|failed to setup card detect|MXFQ|"
            r"Will use|Invalid|Unknown|Vendor specific|BAR|cannot|error: (?:reset )?data->host)",
            "what the card reader's driver said",
        ),
    ),
    complains=PROTOCOL,
)

FAMILIES: Final = (FAMILY, READER)
