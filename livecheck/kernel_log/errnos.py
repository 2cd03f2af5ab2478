"""Error numbers in kernel messages, and what each speaks of."""

from __future__ import annotations

import errno
import re
from typing import Final

from livecheck.kernel_log.words import HOST_BUS, LINK, PROTOCOL, TIMEOUT

ERRNO_LAYER: Final[dict[int, str]] = {
    5: LINK,
    32: PROTOCOL,
    62: TIMEOUT,
    71: LINK,
    75: LINK,
    84: LINK,
    108: HOST_BUS,
    110: TIMEOUT,
    121: LINK,
}
"""What bus drivers mean by an errno: EPROTO 71, EILSEQ 84 (a bad checksum on USB and
MMC), EREMOTEIO 121, ETIME 62, ETIMEDOUT 110, EPIPE 32 (the device refused), ESHUTDOWN 108 (its
controller was switched off).
Source: Documentation/driver-api/usb/error-codes.rst; MMC: drivers/mmc/core."""

DRIVER_ERRNO: Final[dict[int, str]] = {
    6: HOST_BUS,
    19: HOST_BUS,
    62: TIMEOUT,
    71: LINK,
    84: LINK,
    108: HOST_BUS,
    110: TIMEOUT,
    121: LINK,
}
"""The same for drivers at large: ENXIO 6, ENODEV 19 and ESHUTDOWN 108 are a device that is gone,
EREMOTEIO 121 is I2C's word for no acknowledge (Documentation/i2c/fault-codes.rst)."""

ON_THE_WAY: Final = {n: at for n, at in DRIVER_ERRNO.items() if at in (LINK, TIMEOUT)}
"""Those that say more than the words around them."""

SET_UP: Final = frozenset({1, 2, 11, 12, 16, 17, 22, 28, 38, 95, 517})
"""What is not permitted, a file that is missing, memory, a resource that is taken, an argument, a
call that is not there, or "later" (EPROBE_DEFER): a driver that did not start for these has not
asked its device (include/uapi/asm-generic/errno-base.h, include/linux/errno.h)."""


def layer_of_errno(number: int) -> str:
    """What a driver's errno speaks of; a request that failed, where it speaks of nothing more."""
    return DRIVER_ERRNO.get(number, PROTOCOL)


_NAMED: Final = re.compile(r"-(E[A-Z0-9]{2,15})\b")


def numbered(line: str) -> str:
    """``error -ETIMEDOUT`` as ``error -110``: since Linux 5.5 some drivers print names."""
    return _NAMED.sub(lambda match: f"-{getattr(errno, match[1], match[1])}", line)
