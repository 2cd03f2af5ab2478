"""A bench as a virtual machine: a Debian kernel, this machine's own file system to read, a share.

The share is mounted by the guest's kernel (fs/smb/client, fs/nfs), so its caches, locks and
leases are those that the stick would have; options are those of ``mount-share``, with a port.
"""

from __future__ import annotations

import gzip
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

MODULES: Final = ("virtio_pci", "virtio_net", "9pnet_virtio", "9p", "cifs", "nfsv4", "ccm", "gcm",
                  "cmac", "aesni_intel", "sha512_generic", "hmac", "ecb", "md4")  # fmt: skip
HOST: Final = "10.0.2.2"
"""What QEMU's own network calls the machine it runs on."""
INIT: Final = """#!/bin/sh
mount -t devtmpfs dev /dev
exec >/dev/ttyS0 2>&1
mount -t proc proc /proc
mount -t sysfs sys /sys
for module in $(cat /modules); do insmod /m/$module; done 2>/dev/null
ifconfig lo 127.0.0.1
ifconfig eth0 10.0.2.15 netmask 255.255.255.0
hostname {name}
mount -t 9p -o ro,trans=virtio,version=9p2000.L,cache=loose,msize=262144 top /top
mount -t proc proc /top/proc
mount -t sysfs sys /top/sys
mount -t devtmpfs dev /top/dev
mount -t tmpfs run /top/run
mount {mount} /top/mnt || echo NO-SHARE
cd /top{checkout}
PYTHONDONTWRITEBYTECODE=1 PYTHONPATH={checkout} HOME=/run chroot /top \\
    /bin/sh -c 'cd {checkout}; echo 499 >/proc/sys/kernel/ns_last_pid
    {python} -m tests.shares.bench {words}; exit'
umount /top/mnt
echo o >/proc/sysrq-trigger
sleep 60
"""


def missing(kernel: Path) -> str | None:
    """Why no bench can be started here; None: one can."""
    programs = ("qemu-system-x86_64", "busybox", "modprobe", "depmod", "cpio")
    absent = [name for name in programs if shutil.which(name) is None]
    if absent:
        return f"not installed: {', '.join(absent)}"
    if _release(kernel) is None:
        return f"no unpacked linux-image package at {kernel}"
    return None


def _release(kernel: Path) -> str | None:
    found = next(kernel.glob("boot/vmlinuz-*"), None)
    return None if found is None else found.name.removeprefix("vmlinuz-")


def _modules(kernel: Path) -> Iterator[Path]:
    """Module files in the order they are loaded in."""
    release = _release(kernel)
    assert release is not None
    subprocess.run(["depmod", "-b", str(kernel), release], check=True)
    seen: dict[str, None] = {}
    for name in MODULES:
        words = ["modprobe", "--show-depends", "-d", str(kernel), "-S", release, name]
        done = subprocess.run(words, capture_output=True, text=True, check=False)
        for line in done.stdout.splitlines():
            if line.startswith("insmod "):
                seen[line.split()[1]] = None
    return map(Path, seen)


def _initramfs(kernel: Path, work: Path, init: str) -> Path:
    tree = work / "tree"
    for name in ("bin", "dev", "m", "proc", "sys", "top"):
        (tree / name).mkdir(parents=True)
    busybox = shutil.which("busybox")
    assert busybox is not None
    shutil.copy(busybox, tree / "bin/busybox")
    for name in ("sh", "mount", "umount", "insmod", "ifconfig", "hostname", "chroot", "cat",
                 "sleep", "echo"):  # fmt: skip
        (tree / "bin" / name).symlink_to("busybox")
    modules = list(_modules(kernel))
    for path in modules:
        shutil.copy(path, tree / "m" / path.name)
    (tree / "modules").write_text("\n".join(path.name for path in modules), "utf-8")
    (tree / "init").write_text(init, "utf-8")
    (tree / "init").chmod(0o755)
    names = "\n".join(str(p.relative_to(tree)) for p in tree.rglob("*"))
    done = subprocess.run(["cpio", "-o", "-H", "newc", "--quiet"], cwd=tree, check=True,
                          input=names.encode(), capture_output=True)  # fmt: skip
    packed = work / "initramfs"
    packed.write_bytes(gzip.compress(done.stdout, 1))
    return packed


class Guest:
    """One bench; what it says is in ``said`` as it says it."""

    def __init__(self, kernel: Path, work: Path, mount: str, words: Sequence[str]) -> None:
        work.mkdir()
        self.said = work / "said"
        checkout = Path(__file__).parents[2]
        init = INIT.format(name=words[1], mount=mount, checkout=checkout,
                           python=sys.executable, words=" ".join(words))  # fmt: skip
        self.process = subprocess.Popen(
            [
                "nice",
                "-n",
                "10",
                "qemu-system-x86_64",
                "-machine",
                "q35,accel=tcg",
                "-cpu",
                "max",
                "-smp",
                "1",
                "-m",
                "1024",
                "-display",
                "none",
                "-nodefaults",
                "-no-reboot",
                "-kernel",
                str(next(kernel.glob("boot/vmlinuz-*"))),
                "-initrd",
                str(_initramfs(kernel, work, init)),
                "-append",
                "console=ttyS0 quiet loglevel=4 panic=-1 no_timer_check mitigations=off",
                "-virtfs",
                "local,path=/,mount_tag=top,security_model=none,readonly=on,multidevs=remap",
                "-netdev",
                "user,id=net",
                "-device",
                "virtio-net-pci,netdev=net",
                "-serial",
                f"file:{self.said}",
            ],
            stdin=subprocess.DEVNULL,
        )

    def told(self, word: str) -> list[str]:
        """What follows a word at the beginning of its lines."""
        lines = self.said.read_text("utf-8", "replace").splitlines() if self.said.exists() else []
        return [line[len(word) :].strip() for line in lines if line.startswith(f"{word} ")]
