"""The stick: a copy of our image for one case, and what the shop drive on it holds."""

from __future__ import annotations

import re
import subprocess
import uuid
from pathlib import Path
from typing import Final

CHECKOUT: Final = Path(__file__).parents[2]
PARTITIONS: Final = CHECKOUT / "image-build/partitions"
SECTOR: Final = 512


class Stick:
    """A copy of the image that one case's starts write to; a copy made before is kept."""

    def __init__(self, image: Path, folder: Path) -> None:
        self.file = folder / "stick.img"
        self.log: Path | None = None
        """Where QEMU logs every write to it; None: nowhere."""
        self.kernel = folder / "vmlinuz"
        self.initrd = folder / "initrd.img"
        if self.file.exists():
            return
        _run("cp", "--sparse=always", "--reflink=auto", str(image), str(self.file))
        for file in (self.kernel, self.initrd):
            self._mtools("mcopy", "SYSTEM_GUID", "-n", f"::/live/{file.name}", str(file))

    @classmethod
    def of(cls, file: Path) -> Stick:
        """A stick whose content stands, or will stand, in this file."""
        stick = cls.__new__(cls)
        stick.file, stick.log = file, None
        return stick

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
        text = self._mtools("mtype", "SYSTEM_GUID", "::/EFI/debian/grub.cfg")
        common = re.search(r'^set common="(.*?)"$', text, re.MULTILINE | re.DOTALL)
        assert common, "the boot menu has no line of common options"
        return " ".join(common[1].replace("\\\n", " ").split())

    def copy_cases(self, to: Path) -> list[Path]:
        """Copies the shop drive's cases to a folder; returns the case folders, in order."""
        to.mkdir(parents=True, exist_ok=True)
        self._mtools("mcopy", "DATA_GUID", "-s", "-n", "-Q", "::/livecheck-cases", str(to))
        return sorted(p for p in (to / "livecheck-cases").iterdir() if p.is_dir())

    def _mtools(self, command: str, guid: str, *arguments: str) -> str:
        return _run(command, "-i", f"{self.file}@@{self._start(guid)}", *arguments)

    def _start(self, guid: str) -> int:
        """Where a partition starts, in bytes; known by the GUID the build gave it.

        UEFI 2.10, 5.3: the table of 128-byte entries follows the header in sector 1; an
        entry holds its own GUID at 16 and its first sector at 32.
        """
        wanted = re.search(rf"^{guid}=(\S+)$", PARTITIONS.read_text(), re.MULTILINE)
        assert wanted, f"{PARTITIONS.name} has no {guid}"
        with self.file.open("rb") as image:
            image.seek(2 * SECTOR)
            table = image.read(128 * 128)
        for at in range(0, len(table), 128):
            if uuid.UUID(bytes_le=table[at + 16 : at + 32]) == uuid.UUID(wanted[1]):
                return int.from_bytes(table[at + 32 : at + 40], "little") * SECTOR
        raise AssertionError(f"the image has no partition {guid}")


def _run(*command: str) -> str:
    done = subprocess.run(command, capture_output=True, text=True, check=False, errors="replace")
    assert done.returncode == 0, f"{command[0]}: {done.stderr.strip()}"
    return done.stdout
