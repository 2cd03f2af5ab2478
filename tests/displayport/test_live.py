"""The real channel's reader, on nodes that every kernel has."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from livecheck.host import AuxHost, Unreadable
from livecheck.live_host import LiveHost


def test_a_channel_is_a_character_device_and_no_file(tmp_path: Path) -> None:
    """/dev/zero (null(4)) answers zeros; a file is refused, however it is called."""
    host = LiveHost()
    assert isinstance(host, AuxHost)
    assert host.aux("/dev/zero", 0x200, 6) == bytes(6)
    (tmp_path / "drm_dp_aux0").write_bytes(bytes(16))
    with pytest.raises(Unreadable) as refused:
        host.aux(str(tmp_path / "drm_dp_aux0"), 0, 1)
    assert refused.value.errno == errno.ENODEV
    with pytest.raises(Unreadable):
        host.aux("/dev/drm_dp_aux_that_is_not", 0, 1)
