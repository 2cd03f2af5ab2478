"""From the kernel's first instruction to the first screen, against a plain Debian live system.

Both have the same kernel, hang on the same emulated USB port and are started one after the
other. ``python -m tests.image.start_time IMAGE FOLDER`` prints the figures as JSON.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import time
from pathlib import Path
from typing import Final

import msgspec

from tests.virtual_laptop import acpi, screen
from tests.virtual_laptop.guest import FONT, Guest
from tests.virtual_laptop.stick import CHECKOUT, Stick

PACKAGES: Final = (
    "linux-image-amd64", "live-boot", "systemd-sysv", "udev", "kmod", "dbus", "login",
    "console-setup", "iproute2", "zstd",
)  # fmt: skip
"""What makes a minimal Debian a live system with a login prompt."""
# The console has one of these: the kernel's own looks like VGA, console-setup loads Fixed.
PLAIN_FONTS: Final = ("Lat15-Fixed16", "Uni2-Fixed16", "Lat15-VGA16", "Uni2-VGA16")
KERNEL_HALF: Final = 0xFFFF_FFFF_8000_0000
"""The kernel's text is above (Linux, Documentation/arch/x86/x86_64/mm.rst)."""
SECONDS: Final = 1200


class Took(msgspec.Struct, frozen=True):
    """Seconds from the kernel's start: by the clock, and of QEMU's processor time, which a
    busy machine does not lengthen."""

    clock: float
    processor: float


def plain(folder: Path) -> tuple[list[str], str]:
    """Builds the plain system; returns QEMU's options for it, and its kernel's release."""
    tree, medium = folder / "tree", folder / "plain.img"
    script = CHECKOUT / "image-build/apt-sources"
    sources = folder / "sources.list"
    sources.write_text(_run("bash", str(script), "trixie", "main"))
    _run("mmdebstrap", "--mode=root", "--variant=minbase", f"--include={','.join(PACKAGES)}",
         "trixie", str(tree), str(sources))  # fmt: skip
    release = next((tree / "lib/modules").iterdir()).name
    squashfs = folder / "filesystem.squashfs"
    _run("mksquashfs", str(tree), str(squashfs), "-comp", "zstd", "-noappend", "-e", "boot")
    with medium.open("wb") as file:
        file.truncate(squashfs.stat().st_size + (64 << 20))
    _run("mkfs.fat", "-F", "32", str(medium))
    _run("mmd", "-i", str(medium), "::/live")
    _run("mcopy", "-i", str(medium), str(squashfs), "::/live/filesystem.squashfs")
    kernel, initrd = (tree / f"boot/{name}-{release}" for name in ("vmlinuz", "initrd.img"))
    return _machine(kernel, initrd, "boot=live quiet", medium), release


def ours(image: Path, folder: Path) -> tuple[list[str], str]:
    """QEMU's options for the stick's image, and its kernel's release."""
    stick = Stick(image, folder)
    # The release stands in the kernel's header (Documentation/arch/x86/boot.rst, 020E).
    head = stick.kernel.read_bytes()[:65536]
    start = int.from_bytes(head[0x20E:0x210], "little") + 0x200
    release = re.split(rb"[ \0]", head[start : start + 100])[0].decode()
    return _machine(stick.kernel, stick.initrd, stick.options(), stick.file), release


def _machine(kernel: Path, initrd: Path, line: str, medium: Path) -> list[str]:
    return [
        "qemu-system-x86_64", "-nodefaults", "-display", "none", "-vga", "std", "-net", "none",
        "-machine", "q35,accel=tcg", "-cpu", "max", "-smp", "2", "-m", "2048",
        "-kernel", str(kernel), "-initrd", str(initrd), "-append", line, "-device", "qemu-xhci",
        "-drive", f"if=none,id=stick,file={medium},format=raw,cache=unsafe,snapshot=on",
        "-device", "usb-storage,drive=stick",
    ]  # fmt: skip


def timed(command: list[str], folder: Path, words: str, fonts: tuple[str, ...]) -> Took:
    """Starts it and waits for the words. Raises TimeoutError when they do not come."""
    folder.mkdir()
    (folder / "page").write_bytes(bytes(4096))
    with Guest(command, folder, acpi.Page(folder / "page", 0)) as guest:
        guest.until(lambda: _in_kernel(guest), 120, "the kernel's first instruction")
        began, spent = time.monotonic(), _processor(guest)
        guest.until(lambda: _shows(guest, words, fonts), SECONDS, words)
        return Took(round(time.monotonic() - began, 1), round(_processor(guest) - spent, 1))


def _in_kernel(guest: Guest) -> bool:
    said = guest.tell("human-monitor-command", **{"command-line": "info registers"})
    at = re.search(r"RIP=([0-9a-f]{16})", str(said))
    return at is not None and int(at[1], 16) >= KERNEL_HALF


def _processor(guest: Guest) -> float:
    """Seconds of processor time of QEMU so far (proc(5): fields 14 and 15)."""
    fields = Path(f"/proc/{guest.process.pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _shows(guest: Guest, words: str, fonts: tuple[str, ...]) -> bool:
    file = guest.folder / "screen.ppm"
    guest.tell("screendump", filename=str(file))
    picture = screen.Picture(file.read_bytes())
    return any(words in line for font in fonts for line in screen.read(picture, font))


def _run(*command: str) -> str:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{command[0]}: {done.stderr[-2000:]}"
    return done.stdout


def measured(image: Path, folder: Path) -> dict[str, object]:
    """Both starts and what they tell."""
    (folder / "plain").mkdir(parents=True)
    other, release = plain(folder / "plain")
    own, same = ours(image, folder)
    assert same == release, f"another kernel: {same}, the plain system has {release}"
    login = timed(other, folder / "login", "login:", PLAIN_FONTS)
    first = timed(own, folder / "first", "What is wrong with it?", (FONT,))
    return {
        "kernel": release,
        "login_prompt_s": login.clock,
        "first_screen_s": first.clock,
        "ratio": round(first.clock / login.clock, 2),
        "ratio_of_processor_time": round(first.processor / login.processor, 2),
    }


if __name__ == "__main__":
    print(json.dumps(measured(Path(sys.argv[1]), Path(sys.argv[2])), indent=1))
