"""The real channel's reader, on nodes that every kernel has, and one transfer's layout."""

from __future__ import annotations

import ctypes
import errno
import fcntl
import struct
from pathlib import Path

import pytest

from livecheck.host import ScreenHost, Unreadable
from livecheck.live_host import LiveHost


def test_a_channel_is_a_character_device_and_no_file(tmp_path: Path) -> None:
    """/dev/zero (null(4)) answers zeros; a file is refused, however it is called."""
    host = LiveHost()
    assert isinstance(host, ScreenHost)
    assert host.aux("/dev/zero", 0x200, 6) == bytes(6)
    (tmp_path / "drm_dp_aux0").write_bytes(bytes(16))
    with pytest.raises(Unreadable) as refused:
        host.aux(str(tmp_path / "drm_dp_aux0"), 0, 1)
    assert refused.value.errno == errno.ENODEV
    with pytest.raises(Unreadable):
        host.aux("/dev/drm_dp_aux_that_is_not", 0, 1)


def test_an_edid_is_one_transfer_of_two_messages(monkeypatch: pytest.MonkeyPatch) -> None:
    """VESA E-DDC: where to begin, then the block, at 50h. Layouts of Linux, uapi/linux/i2c.h.

    Numbers spelt out as the kernel's headers have them: I2C_RDWR 0x0707, I2C_M_RD 0x0001.
    """
    sent: list[tuple[int, int, int, bytes]] = []

    def ioctl(descriptor: int, request: int, transfer: ctypes.Structure) -> int:
        assert request == 0x0707
        count: int
        where, count = struct.unpack("@PI4x", bytes(transfer))
        for number in range(count):
            raw = ctypes.string_at(where + 16 * number, 16)
            address, flags, length, data = struct.unpack("@HHH2xP", raw)
            sent.append((address, flags, length, ctypes.string_at(data, 1)))
            if flags & 1:
                ctypes.memset(data, 0x5A, length)
        return count

    monkeypatch.setattr(fcntl, "ioctl", ioctl)
    assert LiveHost().edid_block("/dev/zero") == b"\x5a" * 128
    assert [(a, f, n) for a, f, n, _ in sent] == [(0x50, 0, 1), (0x50, 1, 128)]
    assert sent[0][3] == b"\0"


def test_a_node_that_is_no_bus_is_a_value() -> None:
    """ioctl(2): ENOTTY for a device that knows no such request."""
    with pytest.raises(Unreadable) as refused:
        LiveHost().edid_block("/dev/zero")
    assert refused.value.errno == errno.ENOTTY
