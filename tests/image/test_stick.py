"""The stick's system in memory, and shop drives plugged in and pulled: each decision by itself.

What a real kernel makes of them is tested in ``test_pulled``.
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
from pathlib import Path
from types import ModuleType

import pytest

from livecheck.casefile.shop import LABEL

BUILD = Path(__file__).parents[2] / "image-build"
LIBRARY = BUILD / "overlay/usr/lib/livecheck"


def _module() -> ModuleType:
    spec = importlib.util.spec_from_file_location("mover", LIBRARY / "system_to_memory.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


mover = _module()
SYSTEM = 156 << 20
"""Bytes of the squashfs without firmware, as built."""


def _meminfo(total_mib: int, available_mib: int) -> str:
    """proc_meminfo(5)."""
    return (
        f"MemTotal: {total_mib << 10:>13} kB\nMemFree:          123456 kB\n"
        f"MemAvailable: {available_mib << 10:>9} kB\nSwapTotal:             0 kB\n"
    )


@pytest.mark.parametrize(
    ("total", "available", "free"),
    [
        (969, 700, False),  # 1 GiB: an eighth is less than the system
        (1300, 1000, True),
        (1300, 667, False),  # 511 MiB would be left
        (1300, 668, True),
        (16_000, 12_000, True),
        (0, 0, False),  # the kernel did not say
    ],
)
def test_where_memory_is_short_the_system_stays(total: int, available: int, free: bool) -> None:
    """At most an eighth of it, and 512 MiB stay available; the reason gives the figures."""
    why = mover.why_not(SYSTEM, _meminfo(total, available))
    assert (why is None) == free
    assert free or all(str(mib) in why for mib in (total, available, 156))


def test_only_the_sticks_own_loop_device_is_taken() -> None:
    """Lines of proc_pid_mountinfo(5): a squashfs somewhere else is not the system."""
    other = "30 1 7:3 / /snap/core/1 ro shared:2 - squashfs /dev/loop3 ro"
    own = "22 21 7:0 / /run/live/rootfs/filesystem.squashfs ro - squashfs /dev/loop0 ro,errors=x"
    assert mover.loop_of(f"{other}\n{own}\n") == "loop0"
    assert mover.loop_of(other) is None


def test_a_copy_is_whole_or_none(tmp_path: Path) -> None:
    file = tmp_path / "system"
    file.write_bytes(data := os.urandom((2 << 20) + 4097))
    source = os.open(file, os.O_RDONLY)
    copy = mover.copied(source, len(data))
    assert os.pread(copy, len(data) + 1, 0) == data
    with pytest.raises(OSError, match="ended after"):
        mover.copied(source, len(data) + 1)


def test_a_mounted_loop_device_goes_on_with_the_copy(tmp_path: Path) -> None:
    """By a real kernel: the file is spoilt afterwards, and the device still reads as before."""
    file = tmp_path / "system"
    file.write_bytes(data := os.urandom(1 << 20))
    made = subprocess.run(
        ["losetup", "--find", "--show", "--read-only", str(file)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if made.returncode:
        pytest.skip(f"no loop device here: {made.stderr.strip()}")
    loop = Path(made.stdout.strip())
    try:
        if mover.why_not(len(data), Path("/proc/meminfo").read_text()):
            pytest.skip("this machine has too little memory")
        assert mover.to_memory(loop.name, file) == mover.FREE
        backing = Path(f"/sys/block/{loop.name}/loop/backing_file").read_text()
        assert "livecheck-system" in backing
        file.write_bytes(bytes(1 << 20))
        assert loop.read_bytes() == data
    finally:
        subprocess.run(["losetup", "--detach", str(loop)], check=True)


TOOLS = """
row() { printf 'PATH="%s" PKNAME="%s" PTUUID="%s" PARTUUID="%s" TRAN="%s"\n' "$@"; }
lsblk() {
    row /dev/sda '' "$TABLE" '' sata
    row /dev/sda1 sda "$TABLE" "$DATA" ''
    row /dev/sdb '' "$TABLE" '' usb
    row /dev/sdb1 sdb "$TABLE" "$DATA" ''
    ${TWIN:+row /dev/sdc '' "$TABLE" '' usb}
}
blkid() { case "$*" in *PTUUID*) echo "$TABLE" ;; *LABEL*) echo "$NAMED" ;; *) echo vfat ;; esac; }
udevadm() { local all="$*"; echo "writable ${all#*--setrw }"; }
od() { echo 0; }
mount() { echo "mounted $*"; }
umount() { echo "unmounted $*"; }
mkdir() { :; }
touch() { :; }
. ./shop-drive
"""


OURS = {"TABLE": "DISK_GUID", "DATA": "DATA_GUID"}
"""A stick of livecheck, and the partition on it that was plugged in."""


def _names() -> dict[str, str]:
    """What the build calls the stick's partitions."""
    lines = (BUILD / "partitions").read_text().splitlines()
    return dict(line.split("=") for line in lines if not line.startswith("#"))


def _shop_drive(
    folder: Path, order: str, said: dict[str, str], mounted: dict[str, str] | None = None
) -> str:
    """What the script does, with tools that answer as told; what was mounted, by its folder."""
    mounts = [
        f"36 35 8:1 / {point} rw,noatime shared:9 - vfat {device} rw,errors=remount-ro"
        for point, devices in (mounted or {}).items()
        for device in devices.split()
    ]
    (folder / "mounts").write_text("".join(f"{line}\n" for line in mounts))
    names = _names()
    for name in ("drives", "shop-drive"):
        text = (LIBRARY / name).read_text().replace(". /usr/lib/livecheck/drives", ". ./drives")
        text = text.replace("/usr/lib/livecheck/partitions", str(BUILD / "partitions"))
        text = text.replace("=/run/livecheck/", f"={folder}/")
        (folder / name).write_text(text)
    unset = dict.fromkeys(("TWIN", "TABLE", "DATA", "NAMED"), "")
    told = unset | {name: names.get(value, value) for name, value in said.items()}
    done = subprocess.run(
        ["bash", "-c", TOOLS, "shop-drive", order, "/dev/sdb1"],
        cwd=folder, env={"PATH": os.environ["PATH"], "MOUNTS": "mounts", **told},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_our_stick_is_mounted_at_whatever_port(tmp_path: Path) -> None:
    """Opened for writing are its drive and that partition; nothing on it can be run. A drive
    inside the machine with the very same tables is no second stick."""
    said = _shop_drive(tmp_path, "plugged", OURS)
    assert said.splitlines()[0] == "writable /dev/sdb /dev/sdb1"
    assert "nosuid,nodev,noexec /dev/sdb1 /media/shopdrive" in said


def test_a_drive_called_shopdrive_is_one(tmp_path: Path) -> None:
    said = _shop_drive(tmp_path, "plugged", {"TABLE": "0f0f", "NAMED": LABEL})
    assert "mounted" in said


@pytest.mark.parametrize(
    "said",
    [
        {"TABLE": "0f0f", "NAMED": "HOLIDAY"},  # a customer's
        {"TABLE": "0f0f", "NAMED": "LIVECHECK"},  # called as our system partition
        {"TABLE": "DISK_GUID", "DATA": "SYSTEM_GUID", "NAMED": "LIVECHECK"},
        {**OURS, "TWIN": "yes"},  # which is meant?
    ],
)
def test_no_other_drive_is_opened_or_mounted(tmp_path: Path, said: dict[str, str]) -> None:
    assert _shop_drive(tmp_path, "plugged", said) == ""


def test_one_shop_drive_is_enough(tmp_path: Path) -> None:
    """A second one is left alone, until the first is gone: then it takes its place."""
    point = "/media/shopdrive"
    assert _shop_drive(tmp_path, "plugged", OURS, {point: "//server/bench"}) == ""
    said = _shop_drive(tmp_path, "plugged", OURS, {point: "/dev/gone1"})
    assert said.startswith(f"unmounted --lazy {point}\n")


@pytest.mark.parametrize(
    ("mounted", "gone"),
    [
        ({"/media/shopdrive": "/dev/gone1"}, ["/media/shopdrive"]),
        ({"/media/shopdrive": "/dev/gone1 //server/bench"}, []),  # a share over it
        ({"/run/live/medium": "/dev/gone2"}, ["/run/live/medium"]),
        ({"/run/live/medium": "tmpfs"}, []),  # a copy in memory
        ({"/media/shopdrive": "/dev/loop0"}, []),  # it is there
    ],
)
def test_what_is_mounted_of_a_pulled_stick_is_let_go(
    tmp_path: Path, mounted: dict[str, str], gone: list[str]
) -> None:
    """umount(2) takes what is on top, whatever device was named to umount(8)."""
    if "/dev/loop0" in mounted.values() and not Path("/dev/loop0").is_block_device():
        pytest.skip("no block device here")
    said = _shop_drive(tmp_path, "let_go", {}, mounted)
    assert said.splitlines() == [f"unmounted --lazy {point}" for point in gone]


def test_udev_asks_for_what_a_shop_drive_is_called() -> None:
    """udev(7): by label, before anything else is looked at."""
    rules = (BUILD / "overlay/etc/udev/rules.d/91-shop-drive.rules").read_text()
    assert f'ENV{{ID_FS_LABEL}}!="{LABEL}", GOTO="shop_drive_end"' in rules
    assert _names()["DATA_LABEL"] == LABEL
