"""Boots the stick's kernel and system in a virtual machine and runs one script in it.

The image's own boot is not what is tested here, so its init is left out: a shell unpacks
the payload and runs it as the first process. The machine is emulated in software, writes
to nothing but scratch files, and switches itself off.
"""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import tarfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from tests.virtual_laptop.stick import CHECKOUT, Stick

NEEDED: Final = ("qemu-system-x86_64", "mcopy")

KERNEL_LINE: Final = (
    "boot=live nopersistence quiet loglevel=3 panic=-1 console=ttyS0 init=/bin/sh -- -c "
    '"mkdir /run/payload; tar -xf /dev/vdb -C /run/payload; exec /bin/sh /run/payload/run"'
)

RUN: Final = """#!/bin/sh
exec >/dev/ttyS1 2>&1
cd /run/payload/tree
PYTHONPATH=/run/payload/tree python3 -m tests.bad_disks.inside
echo o >/proc/sysrq-trigger
sleep 60
"""

SECONDS: Final = 1800
"""Most a boot may take, on a machine that does much else besides."""


def missing() -> str | None:
    """Why no guest can be booted here; None: one can."""
    absent = [program for program in NEEDED if shutil.which(program) is None]
    return f"not installed: {', '.join(absent)}" if absent else None


def payload(to: Path) -> None:
    """The checkout's package and this test's inside half, as a tar file on a disk."""
    with tarfile.open(to, "w") as tar:
        _add_text(tar, "run", RUN)
        tar.add(CHECKOUT / "livecheck", "tree/livecheck", filter=_sources)
        tar.add(CHECKOUT / "shared", "tree/livecheck/shared", filter=_sources)
        _add_text(tar, "tree/tests/__init__.py", "")
        tar.add(Path(__file__).parent, "tree/tests/bad_disks", filter=_sources)
    size = to.stat().st_size
    os.truncate(to, (size + 0xFFFFF) & ~0xFFFFF)


def _sources(entry: tarfile.TarInfo) -> tarfile.TarInfo | None:
    return None if "__pycache__" in entry.name else entry


def _add_text(tar: tarfile.TarFile, name: str, text: str) -> None:
    entry = tarfile.TarInfo(name)
    entry.size = len(text.encode())
    tar.addfile(entry, io.BytesIO(text.encode()))


def boot(
    image: Path, work: Path, disks: Mapping[str, int], devices: Sequence[str]
) -> dict[str, Any]:
    """Results of the script inside, by stage. ``disks``: drive id -> size of a sparse file.

    ``devices`` are QEMU's words for what is plugged in. Raises AssertionError with the
    guest's last words when it ended without a result.
    """
    stick = Stick(image, work)
    payload(work / "payload.tar")
    words = [
        "qemu-system-x86_64", "-machine", "q35,accel=tcg", "-cpu", "max", "-smp", "1",
        "-m", "1024", "-display", "none", "-nodefaults", "-no-reboot",
        "-kernel", str(stick.kernel), "-initrd", str(stick.initrd),
        "-append", KERNEL_LINE,
        "-drive", f"if=none,id=stick,format=raw,file={stick.file},snapshot=on",
        "-drive", f"if=none,id=payload,format=raw,file={work / 'payload.tar'},readonly=on",
        # In this order they become vda and vdb.
        "-device", "virtio-blk-pci,drive=stick", "-device", "virtio-blk-pci,drive=payload",
        "-serial", f"file:{work / 'console'}", "-serial", f"file:{work / 'said'}",
    ]  # fmt: skip
    for name, size in disks.items():
        file = work / f"{name}.img"
        file.touch()
        os.truncate(file, size)
        words += ["-drive", f"if=none,id={name},format=raw,file={file}"]
    for device in devices:
        words += device.split(" ")
    subprocess.run(["nice", "-n", "10", *words], check=True, timeout=SECONDS, capture_output=True)
    return results((work / "said").read_text("utf-8", "replace"))


def results(said: str) -> dict[str, Any]:
    """The stages the script told of; anything else it said is an error's last words."""
    found: dict[str, Any] = {}
    for line in said.splitlines():
        if line.startswith("RESULT "):
            found |= json.loads(line.removeprefix("RESULT "))
    assert found.get("end") is True, f"the script did not come to its end:\n{said[-3000:]}"
    return found
