"""The shop drive: finding it, and the cases on it."""

from __future__ import annotations

import contextlib
import errno
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final
from unicodedata import normalize

import msgspec

from livecheck import guarded
from livecheck.casefile import atomic, lock
from livecheck.casefile.folder import CaseFolder
from livecheck.host import Host, Unreadable
from livecheck.records import BoardReplaced, Case, Complaint, DamagedRecord, Inventory, Run
from livecheck.topology.identity import board_names

CASES: Final = "livecheck-cases"
LABEL: Final = "SHOPDRIVE"
NO_DRIVE: Final = Path("reports")
"""Where cases are kept when no shop drive is there."""

# File systems that hold files of people's own; the rest of a mount table is the kernel's.
_REAL: Final = frozenset(
    {
        *("btrfs", "cifs", "exfat", "ext2", "ext3", "ext4", "f2fs", "fuseblk", "hfsplus"),
        *("nfs", "nfs4", "ntfs3", "smb3", "udf", "vfat", "xfs"),
    }
)


class ShopError(Exception):
    """The shop drive cannot be used; the message says what to try."""


class CaseEntry(msgspec.Struct, frozen=True):
    """One folder on the case index: a case, or why it is none."""

    path: str
    case: Case | None
    trouble: str | None = None


class Shop:
    """A folder of cases."""

    def __init__(self, root: Path) -> None:
        named = guarded.named(root)
        # Whoever names a folder within a shop means that shop.
        within = [p for p in (named, *named.parents) if p.name == CASES]
        self.root = within[-1].parent if within else named

    @property
    def cases_folder(self) -> Path:
        return self.root / CASES

    def ensure_writable(self) -> None:
        """Raises ShopError, with what to try, when nothing could be saved here."""
        try:
            atomic.make_folder(self.cases_folder)
            atomic.try_out(self.cases_folder)
        except OSError as error:
            raise explain(error, self.cases_folder) from error

    def entries(self) -> list[CaseEntry]:
        """Every folder of the case index, by name. Raises ShopError when it cannot be listed."""
        try:
            names = guarded.folders(self.cases_folder)
        except FileNotFoundError:
            return []
        except DamagedRecord as error:
            raise ShopError(f"{self.cases_folder} is {error}") from error
        except OSError as error:
            raise explain(error, self.cases_folder) from error
        return [_entry(self.cases_folder / name) for name in names if not name.startswith(".")]

    @contextlib.contextmanager
    def opening(self) -> Iterator[None]:
        """Be the only bench that looks for a case to open one. Raises OSError."""
        atomic.make_folder(self.cases_folder)
        with lock.held(self.cases_folder):
            yield

    def find(
        self, inventory: Inventory, ticket: str | None, complaint: Complaint
    ) -> CaseFolder | None:
        """The open case this run belongs to: by ticket, else by machine and complaint."""
        for entry in self.entries():
            case = entry.case
            if case is None or case.closed is not None:
                continue
            if ticket is not None:
                if case.ticket is not None and same_ticket(case.ticket, ticket):
                    return CaseFolder(Path(entry.path))
            elif case.complaint == complaint and same_machine(case, inventory):
                return CaseFolder(Path(entry.path))
        return None

    def named(self, case: str | None) -> CaseFolder | None:
        """The open case of that id; None when there is none, or it is closed."""
        for entry in self.entries() if case is not None else []:
            if entry.case is not None and entry.case.id == case and entry.case.closed is None:
                return CaseFolder(Path(entry.path))
        return None

    def of_machine(self, inventory: Inventory) -> list[CaseEntry]:
        """The cases of this machine, the newest last."""
        own = ((e.case.opened, e) for e in self.entries()
               if e.case is not None and same_machine(e.case, inventory))  # fmt: skip
        return [entry for _, entry in sorted(own, key=lambda one: one[0])]

    def find_machine(self, inventory: Inventory) -> CaseFolder | None:
        """The newest open case of this machine, whatever its complaint."""
        own = self.of_machine(inventory)
        still_open = [e.path for e in own if e.case is not None and e.case.closed is None]
        return CaseFolder(Path(still_open[-1])) if still_open else None

    def open_case(
        self, inventory: Inventory, ticket: str | None, complaint: Complaint, now: str
    ) -> CaseFolder:
        """Start a case, while nobody else does (``opening``). Raises OSError when the drive
        refuses."""
        stem = "-".join(filter(None, [_slug(now[:10]), _slug(ticket) or _machine_slug(inventory)]))
        for attempt in range(1, 1000):
            name = stem if attempt == 1 else f"{stem}-{attempt}"
            folder = CaseFolder(self.cases_folder / name)
            atomic.make_folder(self.cases_folder)
            try:
                atomic.take_folder(folder.path)
            except FileExistsError:
                if not _never_begun(folder.path):
                    continue
            folder.save_case(
                Case(
                    id=name,
                    ticket=ticket,
                    complaint=complaint,
                    machine=inventory.machine,
                    opened=now,
                    parts=_part_identities(inventory),
                )
            )
            return folder
        raise OSError(errno.EEXIST, f"999 cases named {stem} stand here already")


def find_shop(host: Host, explicit: Path | None) -> Shop:
    """The shop drive to use.

    In this order: the folder named; the mounted file system that holds a
    ``livecheck-cases`` folder; the one labelled SHOPDRIVE; ``reports`` here.
    Raises ShopError when the named folder does not exist.
    """
    if explicit is not None:
        try:
            there = explicit.is_dir()
        except OSError as error:
            raise ShopError(f"{explicit} cannot be looked at: {error.strerror}") from error
        if not there:
            raise ShopError(f"{explicit} is not a folder (mount the shop drive, or name another)")
        return Shop(explicit)
    mounted = mounts(host)
    for point, _ in mounted:
        if (Path(point) / CASES).is_dir():
            return Shop(Path(point))
    labelled = host.target(f"/dev/disk/by-label/{LABEL}")
    for point, device in mounted:
        if labelled is not None and device == labelled:
            return Shop(Path(point))
    return Shop(NO_DRIVE)


def explain(error: OSError, path: Path) -> ShopError:
    """An OSError of the shop drive, as what happened and what to try."""
    advice = {
        errno.ENOSPC: "it is full: delete or move old cases, or use another drive with --shop",
        errno.EDQUOT: "its quota is used up: free some space, or use another drive with --shop",
        errno.EROFS: "it is mounted read-only: open its write switch or mount it writable, "
        "or use another drive with --shop",
        errno.EACCES: "this user may not write there: run as root, or use --shop with another "
        "folder",
        errno.EPERM: "this user may not write there: run as root, or use --shop with another "
        "folder",
        errno.EIO: "the drive failed to answer: pull the stick, plug it again, or use another",
        errno.ENODEV: "the drive is gone: plug it in again",
        errno.EBUSY: "try again when it is done, or restart a bench that hangs",
        errno.EFBIG: "a device, or the capture, gives nonsense without end: see what it lists",
        errno.ENOLCK: "the share takes no locks: mount it with them (NFS 4; SMB without nobrl)",
    }.get(error.errno or 0, "use another drive with --shop")
    return ShopError(f"cannot save to {path}: {error.strerror or error}; {advice}")


def same_ticket(one: str, other: str) -> bool:
    """Whether two hands wrote the same number: spaces and capitals tell no jobs apart, nor does
    the way in which a keyboard composes a letter (UAX 15)."""
    plain = (normalize("NFC", "".join(words.split()).casefold()) for words in (one, other))
    return len(set(plain)) == 1


def same_machine(case: Case, inventory: Inventory) -> bool:
    """True when all the board says of itself agrees; when it says nothing, when its parts do.

    All parts the same, or two of them: one part in common of several is what a swap
    looks like, not what a machine looks like.
    """
    known, seen = board_names(case.machine), board_names(inventory.machine)
    if known and seen:
        return known == seen
    before, now = set(case.parts), set(_part_identities(inventory))
    alike = bool(before) and (before == now or len(before & now) >= 2)
    return alike and not known and not seen


def other_machine(case: Case, run: Run) -> bool:
    """True when a run names another board than the case, has fewer than half of its parts, and
    nobody said that the board was replaced or that this is a known-good machine.

    A part in common is what a swap into another machine looks like; a new board keeps the most.
    """
    known, seen = board_names(case.machine), board_names(run.inventory.machine)
    told = run.in_known_good_machine or BoardReplaced() in run.answers
    strange = bool(known and seen) and known != seen and not told
    own = set(case.parts) - {*case.spares, *run.known_good}
    kept = own.intersection(_part_identities(run.inventory))
    return strange and 2 * len(kept) < max(len(own), 1)


def _part_identities(inventory: Inventory) -> tuple[str, ...]:
    # The bench's own stick is in every machine.
    own = (p.identity for p in inventory.parts if p.identity and not p.bench_own)
    return tuple(sorted(own))


def _never_begun(folder: Path) -> bool:
    """A case's folder that got no record: its opening was cut off, or the drive refused it."""
    try:
        with guarded.entries(folder) as found:
            names = {entry.name for entry in found}
        return not names or (names == {"runs"} and _never_begun(folder / "runs"))
    except (OSError, DamagedRecord):
        return False


def _entry(folder: Path) -> CaseEntry:
    try:
        return CaseEntry(str(folder), CaseFolder(folder).case())
    except FileNotFoundError:
        return CaseEntry(str(folder), None, "holds no case.json; it is not a case")
    except DamagedRecord as error:
        return CaseEntry(str(folder), None, f"its case.json is {error}")
    except OSError as error:
        return CaseEntry(str(folder), None, f"its case.json cannot be read: {error.strerror}")


def mounts(host: Host) -> list[tuple[str, str]]:
    """(mount point, device) of every real file system (proc_pid_mountinfo(5))."""
    try:
        lines = host.read("/proc/self/mountinfo").decode("utf-8", "replace").splitlines()
    except Unreadable:
        return []
    found: list[tuple[str, str]] = []
    for line in lines:
        before, _, after = line.partition(" - ")
        fields, rest = before.split(), after.split()
        if len(fields) > 4 and len(rest) > 1 and rest[0] in _REAL:
            found.append((_unescape(fields[4]), _unescape(rest[1])))
    return found


def _unescape(word: str) -> str:
    return re.sub(r"\\([0-7]{3})", lambda m: chr(int(m[1], 8)), word)


def _slug(words: str | None) -> str:
    return re.sub(r"[^A-Za-z0-9]+", "-", words or "").strip("-")[:40]


def _machine_slug(inventory: Inventory) -> str:
    machine = inventory.machine
    return _slug(machine.product) or _slug(machine.board_product) or "machine"
