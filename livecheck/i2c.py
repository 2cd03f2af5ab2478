"""One transfer on an I2C bus: a screen's EDID, as VESA's E-DDC standard has it read.

The memory at address 50h is told where to begin (one byte) and then read, in one transfer with
a repeated start. Telling it where to begin changes nothing in it: a write would bring data, too.
"""

from __future__ import annotations

import ctypes
import fcntl
from typing import Final

I2C_RDWR: Final = 0x0707
I2C_M_RD: Final = 1
"""Linux, ``include/uapi/linux/i2c-dev.h`` and ``i2c.h``."""
EDID_ADDRESS: Final = 0x50
BLOCK: Final = 128


class _BusMessage(ctypes.Structure):
    """struct i2c_msg."""

    _fields_ = (
        ("address", ctypes.c_uint16),
        ("flags", ctypes.c_uint16),
        ("length", ctypes.c_uint16),
        ("data", ctypes.c_void_p),
    )


class _Transfer(ctypes.Structure):
    """struct i2c_rdwr_ioctl_data."""

    _fields_ = (("messages", ctypes.POINTER(_BusMessage)), ("count", ctypes.c_uint32))


def edid_block(descriptor: int) -> bytes:
    """The first EDID block, by an open node of the screen's bus. Raises OSError."""
    start, block = ctypes.create_string_buffer(b"\0", 1), ctypes.create_string_buffer(BLOCK)
    messages = (_BusMessage * 2)(
        _BusMessage(EDID_ADDRESS, 0, 1, ctypes.addressof(start)),
        _BusMessage(EDID_ADDRESS, I2C_M_RD, BLOCK, ctypes.addressof(block)),
    )
    fcntl.ioctl(descriptor, I2C_RDWR, _Transfer(messages, 2))
    return block.raw
