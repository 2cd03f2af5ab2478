"""The image of a stick, put together from stand-ins; read back with other tools."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parents[2]
TOOLS = ("sgdisk", "sfdisk", "mkfs.fat", "fsck.fat", "mcopy", "mtype")
MISSING = [t for t in TOOLS if not shutil.which(t, path=f"{os.environ['PATH']}:/sbin:/usr/sbin")]

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(
        bool(MISSING), reason=f"not here: {', '.join(MISSING)} (image-build/packages/test)"
    ),
]
CORE = bytes(range(1, 252)) * 200
RELEASE = "livecheck 0.1.0 (2026-03-01, 1a2b3c4)"
CONTACT = "Elm & Daughters\\Stick desk, 1 Mill Lane"
SCRIPT = """
. image-build/install.sh; . image-build/partitions; . image-build/disk.sh
make_disk "$1"
"""


def assemble(work: Path) -> Path:
    """A stick's image of small stand-ins for kernel, loaders and system."""
    loaders = work / "loaders"
    for name in (
        "usr/lib/shim/shimx64.efi.signed",
        "usr/lib/grub/x86_64-efi-signed/grubx64.efi.signed",
    ):
        (loaders / name).parent.mkdir(parents=True)
        (loaders / name).write_bytes(name.encode())
    (loaders / "core.img").write_bytes(CORE)
    (loaders / "boot.img").write_bytes(b"\x90" * 512)
    for name in ("vmlinuz", "initrd.img", "filesystem.squashfs"):
        (work / name).write_bytes(name.encode() * 1000)
    (work / "sbom.cdx.json").write_text("{}")
    (work / "release").write_text(f"{RELEASE}\n")
    image = work / "disk.img"
    subprocess.run(
        ["bash", "-euo", "pipefail", "-c", SCRIPT, "bash", str(image)],
        cwd=CHECKOUT,
        env={
            **os.environ,
            "WORK": str(work),
            "SOURCE_DATE_EPOCH": "1700000000",
            "TZ": "UTC",
            "CONTACT": CONTACT,
        },
        check=True,
    )
    return image


@pytest.fixture(scope="module")
def image(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One assembled stick for all tests here."""
    return assemble(tmp_path_factory.mktemp("stick"))


def output(*command: str) -> str:
    """What a tool prints; its failure is the test's."""
    path = f"{os.environ['PATH']}:/sbin:/usr/sbin"
    return subprocess.run(
        command, env={**os.environ, "PATH": path}, capture_output=True, text=True, check=True
    ).stdout


def test_partition_table(image: Path) -> None:
    """Another tool finds the table sound, and the partitions under their names."""
    assert "No problems found" in output("sgdisk", "--verify", str(image))
    table = json.loads(output("sfdisk", "--json", str(image)))["partitiontable"]
    names = dict(
        line.split("=", 1)
        for line in (CHECKOUT / "image-build/partitions").read_text().splitlines()
        if "=" in line and not line.startswith("#")
    )
    assert table["id"] == names["DISK_GUID"]
    assert [(p["name"], p["uuid"]) for p in table["partitions"]] == [
        ("SHOPDRIVE", names["DATA_GUID"]),
        ("LIVECHECK", names["SYSTEM_GUID"]),
        ("GRUB", names["GRUB_GUID"]),
    ]
    # Types of the UEFI specification 2.10, table 5.7 (system partition), and of Windows
    # basic data; the third is GRUB's own (GRUB manual, "BIOS installation").
    assert [p["type"] for p in table["partitions"]] == [
        "EBD0A0A2-B9E5-4433-87C0-68B6B72699C7",
        "C12A7328-F81F-11D2-BA4B-00A0C93EC93B",
        "21686148-6449-6E6F-744E-656564454649",
    ]
    assert table["partitions"][0]["start"] == max(p["start"] for p in table["partitions"])


def test_file_systems(image: Path, tmp_path: Path) -> None:
    """Both are FAT32 without fault, and hold what they should."""
    table = json.loads(output("sfdisk", "--json", str(image)))["partitiontable"]
    for partition, label in zip(table["partitions"][:2], ("SHOPDRIVE", "LIVECHECK"), strict=True):
        start = partition["start"] * 512
        part = tmp_path / label
        with image.open("rb") as whole:
            whole.seek(start)
            part.write_bytes(whole.read(partition["size"] * 512))
        output("fsck.fat", "-n", str(part))
        assert part.read_bytes()[71:90] == label.ljust(11).encode() + b"FAT32   "
    menu = output("mtype", "-i", f"{image}@@2M", "::/EFI/debian/grub.cfg")
    assert f'\nmenuentry "Check this laptop: {RELEASE}" {{\n' in menu and "@RELEASE" not in menu
    licences = output("mtype", "-i", f"{image}@@2M", "::/licences.txt")
    assert f"holds {RELEASE} and" in licences and f"\n    {CONTACT}\n" in licences
    assert output("mtype", "-i", f"{image}@@2M", "::/sbom.cdx.json") == "{}"


def test_bios_start(image: Path) -> None:
    """First sector and core point at the right sectors (GRUB 2.12, grub-core/boot/i386/pc:
    boot.S kernel_sector at 0x5c, diskboot.S firstlist 12 bytes before the sector's end)."""
    data = image.read_bytes()[: 3 * 1048576]
    start = int.from_bytes(data[0x5C:0x64], "little")
    core = data[start * 512 :]
    assert data[510:512] == b"\x55\xaa"
    assert core[:0x1F4] == CORE[:0x1F4]
    assert int.from_bytes(core[0x1F4:0x1FC], "little") == start + 1
    assert int.from_bytes(core[0x1FC:0x1FE], "little") == (len(CORE) - 1) // 512
    assert core[0x200 : len(CORE)] == CORE[0x200:]


def test_same_bits_twice(image: Path, tmp_path: Path) -> None:
    """The same pieces make the same image, byte for byte."""
    assert (
        output("sha256sum", str(assemble(tmp_path))).split()[0]
        == (output("sha256sum", str(image)).split()[0])
    )
