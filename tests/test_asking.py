"""What never answers and what never stops costs its own answer, and nothing else.

Outside: read(2) and open(2) of Linux; a pipe that is never written to hangs as an attribute
does whose driver waits, since O_NONBLOCK is taken from it here.
"""

from __future__ import annotations

import errno
import os
import threading
import time
from pathlib import Path

import pytest

from livecheck import asking
from livecheck.host import Unreadable, number
from livecheck.live_host import LiveHost, _udev_device
from tests.inventory.fake_host import FakeHost


@pytest.fixture
def hanging(monkeypatch: pytest.MonkeyPatch) -> str:
    """A file below a folder, each read of which hangs."""
    real, (wait, _unused) = os.open, os.pipe()
    path = "/sys/devices/platform/dead/voltage_now"
    monkeypatch.setattr(asking, "READ_SECONDS", 0.2)
    monkeypatch.setattr(
        os,
        "open",
        lambda name, *rest: os.dup(wait) if name.startswith(path[:-11]) else real(name, *rest),
    )
    return path


def test_a_file_that_hangs_is_left_behind_and_others_are_read(hanging: str) -> None:
    host, begun = LiveHost(), time.monotonic()
    with pytest.raises(Unreadable) as refused:
        host.read(hanging)
    assert refused.value.errno == errno.ETIMEDOUT
    assert time.monotonic() - begun < 2
    assert host.read("/proc/version").startswith(b"Linux")


def test_nothing_more_is_asked_of_a_device_that_hangs(hanging: str) -> None:
    """Or a dead device of twenty attributes would cost twenty waits."""
    host = LiveHost()
    with pytest.raises(Unreadable):
        host.read(hanging)
    begun = time.monotonic()
    for other in range(50):
        with pytest.raises(Unreadable):
            host.read(hanging.replace("voltage_now", f"in{other}_input"))
    assert time.monotonic() - begun < 0.2


@pytest.mark.parametrize(
    ("path", "number"),
    [("/proc/self/mem", errno.EIO), ("/proc/none", errno.ENOENT), ("/proc/a\0b", errno.EINVAL)],
)
def test_what_cannot_be_read_is_the_kernels_own_answer(path: str, number: int) -> None:
    """Nothing is mapped at address 0 (proc_pid_mem(5))."""
    with pytest.raises(Unreadable) as refused:
        LiveHost().read(path)
    assert refused.value.errno == number


def test_where_no_thread_may_start_nothing_can_be_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """pthread_create(3) answers EAGAIN at a limit of threads; Python raises RuntimeError."""

    def refused(thread: threading.Thread) -> None:
        raise RuntimeError("can't start new thread")

    monkeypatch.setattr(threading.Thread, "start", refused)
    with pytest.raises(Unreadable) as told:
        LiveHost().read("/proc/self/stat")
    assert told.value.errno == errno.EAGAIN


def test_a_file_without_end_is_read_to_the_limit() -> None:
    assert len(LiveHost().read("/dev/zero")) == asking.READ_LIMIT


@pytest.mark.parametrize(
    ("command", "trouble"),
    [
        ("yes", "more than 1 MiB"),
        ("yes >&2", "more than 1 MiB"),
        ("sleep 60", "did not answer"),
        ("exec >&- 2>&-; sleep 60", "did not answer"),
        ("sleep 60 & echo here", "did not answer"),
    ],
)
def test_a_program_that_says_too_much_or_nothing_is_ended(
    monkeypatch: pytest.MonkeyPatch, command: str, trouble: str
) -> None:
    monkeypatch.setattr(asking, "OUTPUT_BYTES", 1 << 20)
    begun = time.monotonic()
    result = LiveHost().command(["sh", "-c", command], 1.0)
    assert trouble in (result.trouble or "")
    assert (result.status, result.out) == (None, b"")
    assert time.monotonic() - begun < 5


def test_a_program_that_cannot_be_started_is_a_value(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = tmp_path / "smartctl"
    broken.write_bytes(b"\x7fELF no program")
    broken.chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert "did not start" in (LiveHost().command(["smartctl"], 1.0).trouble or "")


def test_a_name_that_is_no_text_costs_no_device() -> None:
    """A Bluetooth keyboard names itself in bytes of its own (hid_connect, drivers/hid); pyudev
    decodes strictly, as its documentation of ``Properties`` says."""

    class Properties(dict[str, str]):
        def __getitem__(self, name: str) -> str:
            return b"Klapper\xff".decode("utf-8") if name == "NAME" else super().__getitem__(name)

    class Keyboard:
        subsystem, sys_name, sys_path, parent, driver = "input", "input9", "/sys/x", None, None
        properties = Properties(NAME="", PRODUCT="5/1/2/3")

    found = _udev_device(Keyboard())
    assert found.properties == {"NAME": "Klapper\ufffd", "PRODUCT": "5/1/2/3"}


@pytest.mark.parametrize("content", ["9" * 400, f"{1 << 64}", f"-{(1 << 63) + 1}", "nan", "1e5"])
def test_a_figure_the_kernel_cannot_count_to_is_none(content: str) -> None:
    """Its widest integers have 64 bits; such a figure stopped whoever divided it."""
    host = FakeHost({"/sys/x": content})
    assert number(host, "/sys/x") is None
    assert number(FakeHost({"/sys/x": f"{(1 << 64) - 1}"}), "/sys/x") == (1 << 64) - 1
