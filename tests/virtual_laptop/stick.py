"""The stick: a copy of our image for one case, and what the shop drive on it holds."""

from __future__ import annotations

import re
import struct
import subprocess
import uuid
from functools import cached_property
from pathlib import Path
from typing import Final

CHECKOUT: Final = Path(__file__).parents[2]
PARTITIONS: Final = CHECKOUT / "image-build/partitions"
SECTOR: Final = 512
MENU: Final = "::/EFI/debian/grub.cfg"


def case_folders(drive: Path) -> list[Path]:
    """The case folders of a copied shop drive, in order; not the recorder's own beside them."""
    return sorted(p for p in (drive / "livecheck-cases").glob("[!.]*") if p.is_dir())


class Stick:
    """A copy of the image that one case's starts write to; a copy made before is kept."""

    def __init__(self, image: Path, folder: Path) -> None:
        self.file = folder / "stick.img"
        self.log: Path | None = None
        """Where QEMU logs every write to it; None: nowhere."""
        self.by_menu = False
        """True: the machine's firmware starts it."""
        self.kernel = folder / "vmlinuz"
        self.initrd = folder / "initrd.img"
        if self.file.exists():
            return
        _run("cp", "--sparse=always", "--reflink=auto", str(image), str(self.file))
        for file in (self.kernel, self.initrd):
            self.copy_live(file)

    def copy_live(self, to: Path) -> None:
        """Copies the system partition's file of that name."""
        self._mtools("mcopy", "SYSTEM_GUID", "-n", f"::/live/{to.name}", str(to))

    def drive(self) -> str:
        """Its ``-drive`` option for QEMU."""
        if self.log is None:
            return f"if=none,id=stick,file={self.file},format=raw,cache=unsafe"
        return (
            f"if=none,id=stick,driver=blklogwrites,file.driver=file,file.filename={self.file},"
            f"log.driver=file,log.filename={self.log},log-super-update-interval=1"
        )

    def options(self) -> str:
        """What the first entry of the stick's boot menu gives the kernel."""
        return " ".join(self._common[1].replace("\\\n", " ").split())

    def loader(self, line: str) -> list[str]:
        """QEMU's options that start the kernel with a line; or the menu is given it."""
        if not self.by_menu:
            return ["-kernel", str(self.kernel), "-initrd", str(self.initrd), "-append", line]
        common = self._common
        menu = self.file.with_name("grub.cfg")
        quoted = line.replace("$", r"\$")
        menu.write_text(common.string.replace(common[0], f'set common="{quoted}"'))
        self._mtools("mcopy", "SYSTEM_GUID", "-o", str(menu), MENU)
        return []

    @cached_property
    def _common(self) -> re.Match[str]:
        """The line of the boot menu, as built, with what all its entries give the kernel."""
        text = self._mtools("mtype", "SYSTEM_GUID", MENU)
        common = re.search(r'^set common="(.*?)"$', text, re.MULTILINE | re.DOTALL)
        assert common, "the boot menu has no line of common options"
        return common

    def put_on_shop_drive(self, file: Path) -> None:
        """Copies a file to the top of the shop drive."""
        self._mtools("mcopy", "DATA_GUID", "-o", str(file), f"::/{file.name}")

    def copy_cases(self, to: Path) -> list[Path]:
        """Copies the shop drive's cases to a folder; returns the case folders, in order."""
        to.mkdir(parents=True, exist_ok=True)
        self._mtools("mcopy", "DATA_GUID", "-s", "-n", "-Q", "::/livecheck-cases", str(to))
        return case_folders(to)

    def _mtools(self, command: str, guid: str, *arguments: str) -> str:
        return _run(command, "-i", f"{self.file}@@{self.span(guid)[0]}", *arguments)

    def span(self, guid: str) -> tuple[int, int]:
        """Where a partition starts and ends, in bytes; known by the GUID the build gave it.

        UEFI 2.10, 5.3: the table of 128-byte entries follows the header in sector 1; an
        entry holds its own GUID at 16, its first sector at 32 and its last one at 40.
        """
        wanted = re.search(rf"^{guid}=(\S+)$", PARTITIONS.read_text(), re.MULTILINE)
        assert wanted, f"{PARTITIONS.name} has no {guid}"
        with self.file.open("rb") as image:
            image.seek(2 * SECTOR)
            table = image.read(128 * 128)
        for at in range(0, len(table), 128):
            if uuid.UUID(bytes_le=table[at + 16 : at + 32]) == uuid.UUID(wanted[1]):
                first, last = struct.unpack_from("<QQ", table, at + 32)
                return first * SECTOR, (last + 1) * SECTOR
        raise AssertionError(f"the image has no partition {guid}")


def cases_after_power_loss(part: Path, to: Path) -> None:
    """Cases on a data partition cut off at any instant, repaired as the next start does it."""
    # fsck.fat: 0 sound, 1 repaired (fsck.fat(8)).
    done = subprocess.run(["fsck.fat", "-a", part], capture_output=True, text=True, check=False)
    assert done.returncode in (0, 1), done.stdout + done.stderr
    to.mkdir(parents=True)
    if "livecheck-cases" in _run("mdir", "-i", str(part), "-b", "::"):
        _run("mcopy", "-i", str(part), "-s", "-n", "-Q", "::/livecheck-cases", str(to))


def _run(*command: str) -> str:
    done = subprocess.run(command, capture_output=True, text=True, check=False, errors="replace")
    assert done.returncode == 0, f"{command[0]}: {done.stderr.strip()}"
    return done.stdout
