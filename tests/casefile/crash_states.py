"""``python -m tests.casefile.crash_states --fs vfat --states 1000 --seed 1``: power cuts by the
thousand, replayed from a log of every block that saving wrote.

A kernel in user mode (Debian's user-mode-linux) mounts a drive that QEMU's storage daemon keeps
and logs: its driver ``blklogwrites`` writes the format of dm-log-writes (Linux
Documentation/admin-guide/device-mapper/log-writes.rst). A case is opened there and changed again
and again; how long the log was when each change was reported as saved is kept. A state is the
drive after some write of the log: all that lay before the last flush is on it, and of what came
later any of the writes, in any order, some of them torn. The same kernel mounts each state, and
the case is read: nothing that was reported by then may be missing, nothing may be damaged.
"""

from __future__ import annotations

import argparse
import contextlib
import random
import shlex
import shutil
import struct
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, NamedTuple

import msgspec

from livecheck.casefile import CaseFolder, Shop, ShopError
from livecheck.records import Complaint, Inventory, Proved, Run

TOP: Final = Path(__file__).parents[2]
SECTOR: Final = 512
SIZE: Final = 8 << 20
FLUSH, DISCARD = 1, 4
ROUNDS: Final = 20
MAKE: Final = {"vfat": ("mkfs.vfat", "-F", "32", "-s", "1"), "ext4": ("mkfs.ext4", "-q", "-F")}
OPTIONS: Final = {"vfat": "noatime,flush,errors=continue,utf8,umask=0077", "ext4": "noatime"}
"""Those of the stick (image-build/overlay/usr/lib/livecheck/shop-drive)."""
NEVER_REPORTED: Final = ("cut off before", "no case.json", "could not be read", "cannot be read")
"""What is said of a record whose first save was cut off; one that was reported is missed."""
MODULES: Final = (
    "fat",
    "vfat",
    "nls_cp437",
    "nls_iso8859-1",
    "nls_ascii",
    "nls_utf8",
    "loop",
    "virtio_blk",
)
UML: Final = "linux.uml"
DAEMON: Final = "qemu-storage-daemon"
MOST_SECONDS: Final = 1800


class Logged(NamedTuple):
    """One entry of the log of writes."""

    end: int
    """Length of the log with it."""
    flags: int
    offset: int
    data: bytes


class Told(msgspec.Struct, frozen=True):
    """Something that was reported as saved, and how long the log was by then."""

    at: int
    what: str
    """``run``, ``spare`` or ``outcome``."""
    value: str


class Verdict(msgspec.Struct):
    """What came of the states of one file system."""

    fs: str
    seed: int
    states: int = 0
    writes: int = 0
    flushes: int = 0
    reported: int = 0
    """Changes reported as saved, over all states together."""
    lost: list[str] = msgspec.field(default_factory=list)
    damaged: list[str] = msgspec.field(default_factory=list)


def entries(log: bytes) -> Iterator[Logged]:
    """The log's entries in order (drivers/md/dm-log-writes.c, struct log_write_entry)."""
    at = SECTOR
    while at + 32 <= len(log):
        sector, count, flags, _ = struct.unpack_from("<QQQQ", log, at)
        begin = at + SECTOR
        at = begin + (0 if flags & DISCARD else count * SECTOR)
        yield Logged(at, flags, sector * SECTOR, log[begin:at])


def state(base: bytes, log: list[Logged], last: int, dice: random.Random) -> bytes:
    """The drive, had the power gone right after entry ``last``."""
    flushed = max((n for n, one in enumerate(log[: last + 1]) if one.flags & FLUSH), default=-1)
    drive = bytearray(base)
    for one in log[: flushed + 1]:
        drive[one.offset : one.offset + len(one.data)] = one.data
    loose = [one for one in log[flushed + 1 : last + 1] if dice.random() < 0.5]
    dice.shuffle(loose)
    for one in loose:
        torn = dice.random() < 0.2
        for begin in range(0, len(one.data), SECTOR):
            if not torn or dice.random() < 0.5:
                at = one.offset + begin
                drive[at : at + SECTOR] = one.data[begin : begin + SECTOR]
    return bytes(drive)


def write(mounted: Path, log: Path) -> list[Told]:
    """A case opened and changed; what was reported, with the log's length by then."""
    told: list[Told] = []

    def report(what: str, value: str) -> None:
        told.append(Told(log.stat().st_size, what, value))

    shop = Shop(mounted)
    case = shop.open_case(Inventory(), "T", Complaint.SLOW, "2026-03-01T00:00:00Z")
    for number in range(ROUNDS):
        run = Run(number=case.claim_run(), started=f"r{number}", program="x" * (number * 400))
        case.save_run(run)
        report("run", run.started)
        value = f"s{number}"
        case.change_case(lambda kept, new=value: _with_spare(kept, new))  # type: ignore[misc]
        report("spare", value)
        case.add_proved(Proved(case="x", recorded=f"o{number}", component="drive", kind="drive",
                               proved=False))  # fmt: skip
        report("outcome", f"o{number}")
    return told


def _with_spare(kept: Any, value: str) -> Any:
    return msgspec.structs.replace(kept, spares=(*kept.spares, value))


def read(mounted: Path) -> tuple[set[tuple[str, str]], list[str]]:
    """What a bench finds of the case after a cut, and what of it is damaged."""
    found: set[tuple[str, str]] = set()
    troubles: list[str] = []
    for entry in Shop(mounted).entries():
        folder = CaseFolder(Path(entry.path))
        if entry.case is None:
            troubles += [entry.trouble or ""]
            continue
        loaded, (proved, broken) = folder.load(), folder.proved()
        found |= {("run", run.started) for run in loaded.runs}
        found |= {("spare", spare) for spare in loaded.case.spares}
        found |= {("outcome", one.recorded) for one in proved}
        troubles += [*loaded.damaged, *broken]
    Shop(mounted).ensure_writable()  # or raises ShopError: nothing could be saved any more
    return found, [t for t in troubles if not any(words in t for words in NEVER_REPORTED)]


def check(work: Path, fs: str, states: int, seed: int) -> Verdict:
    """Every state mounted and read. Runs in the kernel in user mode."""
    base, log = (work / "base").read_bytes(), list(entries((work / "log").read_bytes()))
    told = msgspec.json.decode((work / "told").read_bytes(), type=list[Told])
    verdict = Verdict(fs, seed, writes=len(log), flushes=sum(e.flags & FLUSH for e in log))
    dice = random.Random(seed)
    image, mounted = work / "memory" / "state", work / "mounted"
    for _ in range(states):
        last = dice.randrange(len(log))
        image.write_bytes(state(base, log, last, dice))
        with _mounted(fs, image, mounted):
            try:
                found, damaged = read(mounted)
            except ShopError as error:
                found, damaged = set(), [str(error)]
        due = [one for one in told if one.at <= log[last].end]
        verdict.states += 1
        verdict.reported += len(due)
        verdict.lost += [
            f"{last}: {o.what} {o.value}" for o in due if (o.what, o.value) not in found
        ]
        verdict.damaged += [f"{last}: {words}" for words in damaged]
    return verdict


@contextlib.contextmanager
def _mounted(fs: str, image: Path, where: Path) -> Iterator[None]:
    """As the stick does it: a FAT that was not put away in order is looked over first."""
    if fs == "vfat":
        subprocess.run(["fsck.fat", "-a", image], check=False, stdout=subprocess.DEVNULL)
    found = subprocess.run(["losetup", "-f", "--show", image], check=True, capture_output=True)
    device = found.stdout.decode().strip()
    subprocess.run(["mount", "-t", fs, "-o", OPTIONS[fs], device, where], check=True)
    try:
        yield
    finally:
        subprocess.run(["umount", where], check=True)
        subprocess.run(["losetup", "-d", device], check=True)


def campaign(fs: str, states: int, seed: int) -> Verdict:
    """The whole of it, in a folder of its own."""
    with tempfile.TemporaryDirectory(prefix="livecheck-crash-") as folder:
        work = Path(folder)
        for name in ("mounted", "memory"):
            (work / name).mkdir()
        (work / "log").touch()
        with (work / "base").open("wb") as file:
            file.truncate(SIZE)
        subprocess.run([*MAKE[fs], work / "base"], check=True, capture_output=True)
        shutil.copyfile(work / "base", work / "image")
        with _Logging(work):
            # The daemon says that it writes through; it does as told once flushes are wanted.
            cache = "&& echo 'write back' > /sys/block/vda"
            flushes = f"mount -t sysfs sys /sys {cache}/cache_type {cache}/queue/write_cache"
            mount = f"{flushes} && mount -t {fs} -o {OPTIONS[fs]} /dev/vda {work}/mounted"
            _in_kernel(work, fs, mount, "write", fs)
        _in_kernel(
            work, fs, f"mount -t tmpfs none {work}/memory", "check", fs, str(states), str(seed)
        )
        return msgspec.json.decode((work / "verdict").read_bytes(), type=Verdict)


class _Logging:
    """The drive, as a file whose every write is logged."""

    def __init__(self, work: Path) -> None:
        node = f"driver=file,filename={work}"
        self._process = subprocess.Popen(
            [DAEMON, "--blockdev", f"{node}/image,node-name=image", "--blockdev",
             f"{node}/log,node-name=log", "--blockdev",
             "driver=blklogwrites,node-name=drive,file=image,log=log,log-sector-size=512",
             "--export", "vhost-user-blk,id=e,node-name=drive,writable=on,addr.type=unix,"
             f"addr.path={work}/drive"]
        )  # fmt: skip
        self._drive = work / "drive"

    def __enter__(self) -> None:
        until = time.monotonic() + 20
        while not self._drive.exists():
            if time.monotonic() > until or self._process.poll() is not None:
                raise RuntimeError("the storage daemon exports no drive here")
            time.sleep(0.05)

    def __exit__(self, *_: object) -> None:
        self._process.terminate()
        self._process.wait(60)


def _in_kernel(work: Path, fs: str, first: str, *words: str) -> None:
    """One start of the kernel in user mode, its root the folder tree of this machine."""
    command = shlex.join([sys.executable, "-m", "tests.casefile.crash_states", f"--{words[0]}",
                          str(work), *words[1:]])  # fmt: skip
    init = work / "init"
    init.write_text(
        "#!/bin/sh\nexport PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/ LANG=C.UTF-8\n"
        f"exec > {work}/said 2>&1\nmount -t proc proc /proc\n"
        f"for name in {' '.join(MODULES)}; do\n"
        "  insmod $(find /usr/lib/uml/modules -name $name.ko) || true\ndone\n"
        f"{first} && cd {TOP} && {command} && touch {work}/done-{words[0]}\n"
        f"umount {work}/mounted\nhalt -f\n"
    )
    init.chmod(0o755)
    drive = [f"virtio_uml.device={work}/drive:2"] if words[0] == "write" else []
    subprocess.run(
        [UML, "mem=768M", *drive, "rootfstype=hostfs", "rootflags=/", "rw", f"init={init}",
         "con=null", "con0=null,fd:2"],
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        timeout=MOST_SECONDS, check=False,
    )  # fmt: skip
    if not (work / f"done-{words[0]}").exists():
        raise RuntimeError(f"{fs}: {(work / 'said').read_text(errors='replace')[-2000:]}")


def main() -> int:
    """The command line; status 1 when something was lost or damaged."""
    parser = argparse.ArgumentParser(prog="python -m tests.casefile.crash_states")
    parser.add_argument("--fs", choices=sorted(MAKE), default="vfat")
    parser.add_argument("--states", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--write", nargs=2, help=argparse.SUPPRESS)
    parser.add_argument("--check", nargs=4, help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.write:
        work = Path(options.write[0])
        told = write(work / "mounted", work / "log")
        (work / "told").write_bytes(msgspec.json.encode(told))
        return 0
    if options.check:
        work, fs, states, seed = options.check
        verdict = check(Path(work), fs, int(states), int(seed))
        (Path(work) / "verdict").write_bytes(msgspec.json.encode(verdict))
        return 0
    verdict = campaign(options.fs, options.states, options.seed)
    print(msgspec.json.format(msgspec.json.encode(verdict)).decode())
    return 1 if verdict.lost or verdict.damaged else 0


if __name__ == "__main__":
    sys.exit(main())
