"""Screens on DisplayPort by their own registers (DPCD), read over the AUX channel.

Names and bits are those of the kernel's ``include/drm/display/drm_dp.h`` (Linux 6.12), which
follows the VESA DisplayPort and Embedded DisplayPort standards. Nothing is ever written.
"""

from livecheck.displayport.errors import SymbolErrors, allowed
from livecheck.displayport.read import LinkWatch
from livecheck.displayport.registers import Screen, decode

__all__ = [
    "LinkWatch",
    "Screen",
    "SymbolErrors",
    "allowed",
    "decode",
]
