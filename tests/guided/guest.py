"""A virtual laptop with a root shell on a serial line, for what only a real kernel shows.

It is started from the image as the stick's first menu entry starts it, with the option
that puts a shell on the second serial port. What the image has not (``iw``, the reference
of the radio tests) comes on a second disk as a tar file.
"""

from __future__ import annotations

import codecs
import contextlib
import os
import re
import shlex
import socket
import subprocess
import tarfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from qemu.qmp.legacy import QEMUMonitorProtocol

from tests.virtual_laptop.stick import CHECKOUT, Stick

BOOT_SECONDS: Final = 900


class Shell:
    """One running guest and its shell.

    ``devices``: what it has besides, as QEMU's options; ``line``: more for the kernel.
    """

    def __init__(
        self, image: Path, folder: Path, devices: Sequence[str] = (), line: str = ""
    ) -> None:
        self._folder = folder
        stick = Stick(image, folder)
        _extras(folder / "extras.tar")
        self._log = (folder / "qemu.log").open("w")
        self.process = subprocess.Popen(
            [*_command(stick, folder, line), *devices], stdout=self._log, stderr=subprocess.STDOUT
        )
        self._serial = self._connect(folder / "shell")
        self._letters = codecs.getincrementaldecoder("utf-8")("replace")
        self._monitor = QEMUMonitorProtocol(str(folder / "monitor"))
        self._monitor.connect(negotiate=True)

    def ready(self) -> None:
        """Wait for the shell and unpack what the image has not."""
        self._wake()
        self.run(
            "stty -echo; bind 'set enable-bracketed-paste off'; PS1='' PS2='' ; "
            "export SYSTEMD_PAGER="
        )
        self.run("mkdir -p /x && tar xf /dev/vda -C /x")
        if os.environ.get("LIVECHECK_OVERLAY"):
            self.run("export PYTHONPATH=/x/sources")

    def _connect(self, path: Path) -> socket.socket:
        end = time.monotonic() + 30
        line = socket.socket(socket.AF_UNIX)
        # The name is there a moment before QEMU listens.
        while line.connect_ex(str(path)) != 0:
            assert time.monotonic() < end, "QEMU did not start"
            time.sleep(0.1)
        line.settimeout(1.0)
        return line

    def _wake(self) -> None:
        """Ask until the shell is there: what is typed before is lost."""
        end = time.monotonic() + BOOT_SECONDS
        heard = ""
        while "awake 42" not in heard:
            assert time.monotonic() < end, f"no shell on the serial line: {heard[-2000:]}"
            assert self.process.poll() is None, "the guest has ended"
            # Before the guest has opened the line it takes a few bytes and no more.
            with contextlib.suppress(TimeoutError):
                self.send("echo awake $((6 * 7))\n")
            asked = time.monotonic()
            while time.monotonic() < asked + 5 and "awake 42" not in heard:
                try:
                    heard += self._hear()
                except TimeoutError:
                    continue
        # Answers to what was asked more than once are let go.
        time.sleep(6)
        while True:
            try:
                self._serial.recv(65536)
            except TimeoutError:
                return

    def tell(self, command: str, **arguments: object) -> Any:
        """One command of QEMU's machine protocol."""
        return self._monitor.cmd(command, **arguments)

    def send(self, text: str) -> None:
        """Type on the serial line."""
        self._serial.sendall(text.encode())

    def _hear(self) -> str:
        """What has come; a letter of several bytes may come in two parts."""
        return self._letters.decode(self._serial.recv(65536))

    def listen(self, seconds: float) -> str:
        """What comes in this time; a line nobody reads stops the guest."""
        heard, end = "", time.monotonic() + seconds
        self._serial.settimeout(0.05)
        while time.monotonic() < end:
            with contextlib.suppress(TimeoutError):
                heard += self._hear()
        self._serial.settimeout(1.0)
        return heard

    def until(self, words: str, seconds: float) -> str:
        """What came until these words (a pattern); fails loudly when they do not come."""
        heard, end = "", time.monotonic() + seconds
        while not re.search(words, heard):
            assert time.monotonic() < end, f"{words!r} did not come; heard:\n{heard[-3000:]}"
            assert self.process.poll() is None, "the guest has ended"
            try:
                heard += self._hear()
            except TimeoutError:
                continue
        return heard

    def run(self, command: str, seconds: float = 120) -> str:
        """Output of a command; it has to end with 0."""
        mark = f"E{time.monotonic_ns()}"
        # The mark is put together by the shell, so that an echo of the line is not taken for it.
        self.send(f"{command}\necho {mark[0]}''{mark[1:]} $?:\n")
        heard = self.until(rf"{mark} \d+:", seconds)
        status = re.search(rf"{mark} (\d+):", heard)
        said = heard.partition(mark)[0].replace("\r", "")
        assert status and status[1] == "0", f"{command}: {status and status[1]}\n{said[-3000:]}"
        return said

    def python(self, source: str, seconds: float = 180) -> str:
        """Output of a program, run by the image's own Python."""
        return self.run(f"python3 -c {shlex.quote(source)}", seconds)

    def close(self) -> None:
        """Take the power away."""
        self._serial.close()
        self.process.kill()
        self.process.wait()
        self._monitor.close()
        self._log.close()


def _command(stick: Stick, folder: Path, more: str) -> list[str]:
    line = f"{stick.options()} livecheck.shell=ttyS1 {more}"
    return [
        "nice", "-n", "10", "qemu-system-x86_64", "-nodefaults", "-no-reboot", "-display", "none",
        "-machine", "q35,accel=tcg", "-cpu", "max", "-smp", "2", "-m", "1280", "-vga", "std",
        "-net", "none", "-kernel", str(stick.kernel), "-initrd", str(stick.initrd),
        "-append", line, "-device", "qemu-xhci,id=xhci",
        "-drive", f"if=none,id=stick,file={stick.file},format=raw,cache=unsafe",
        "-device", "usb-storage,bus=xhci.0,port=1,drive=stick,serial=STICK1",
        "-drive", f"if=none,id=extras,file={folder}/extras.tar,format=raw,readonly=on",
        "-device", "virtio-blk-pci,drive=extras",
        "-blockdev", "driver=null-co,node-name=known-good,size=67108864,read-zeroes=on",
        "-serial", "null", "-chardev", f"socket,id=sh,path={folder}/shell,server=on,wait=off",
        "-serial", "chardev:sh", "-qmp", f"unix:{folder}/monitor,server,nowait",
    ]  # fmt: skip


def _extras(file: Path) -> None:
    """``iw`` and its libraries; with LIVECHECK_OVERLAY the checkout's sources too."""
    program = "/usr/sbin/iw"
    linked = subprocess.run(["ldd", program], capture_output=True, text=True, check=True).stdout
    with tarfile.open(file, "w") as tar:
        tar.add(program, "iw")
        for library in re.findall(r"=> (/\S*libnl\S*)", linked):
            tar.add(os.path.realpath(library), f"lib/{Path(library).name}")
        if os.environ.get("LIVECHECK_OVERLAY"):
            tar.add(CHECKOUT / "livecheck", "sources/livecheck")
            tar.add(CHECKOUT / "shared", "sources/livecheck/shared")
    size = file.stat().st_size
    with file.open("r+b") as raw:
        raw.truncate(-(-size // 512) * 512)
