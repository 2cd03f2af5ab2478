"""A host made of a few files and udev devices, for tests of what asks it."""

from __future__ import annotations

import errno
from collections.abc import Iterable, Mapping, Sequence

from livecheck.host import CommandResult, Facts, Host, KernelMessage, UdevDevice, Unreadable
from livecheck.inventory import smbios
from livecheck.inventory.tree import Seen

SYS = "/sys/devices/platform"


class FakeHost:
    """Answers from a mapping of path -> content; an int as content is an errno."""

    def __init__(
        self,
        files: Mapping[str, bytes | str | int] | None = None,
        devices: Iterable[UdevDevice] = (),
        as_root: bool = True,
        now: str = "2026-03-01T10:00:00+00:00",
        links: Mapping[str, str] | None = None,
    ) -> None:
        self.files = dict(files or {})
        self.devices = tuple(devices)
        self.links = dict(links or {})
        self.radios: dict[str, tuple[bytes, ...]] = {}
        self.known = Facts(kernel="Linux 6.12", machine="x86_64", as_root=as_root, now=now)

    def scope(self, name: str) -> Host:
        return self

    def facts(self) -> Facts:
        return self.known

    def read(self, path: str) -> bytes:
        content = self.files.get(path, errno.ENOENT)
        if isinstance(content, int):
            raise Unreadable(path, content)
        return content.encode() if isinstance(content, str) else content

    def names(self, path: str) -> tuple[str, ...]:
        start = path.rstrip("/") + "/"
        below = (p for p in (*self.files, *self.links) if p.startswith(start))
        return tuple(sorted({p[len(start) :].partition("/")[0] for p in below}))

    def target(self, path: str) -> str | None:
        return self.links.get(path)

    def udev(self, subsystem: str) -> tuple[UdevDevice, ...]:
        return tuple(d for d in self.devices if d.subsystem == subsystem)

    def kernel_log(self) -> tuple[KernelMessage, ...]:
        return ()

    def command(self, argv: Sequence[str], deadline: float) -> CommandResult:
        return CommandResult(None, b"", b"", f"{argv[0]} is not installed")

    def block(self, device: str, offset: int, length: int) -> bytes:
        raise Unreadable(device, errno.ENOENT)

    def radio(self, question: str, index: int | None = None) -> tuple[bytes, ...]:
        try:
            return self.radios[question]
        except KeyError:
            raise Unreadable(f"nl80211 {question}", errno.ENOENT) from None

    def clock(self) -> float:
        return 0.0

    def wait(self, seconds: float) -> None:
        return None


def device(
    subsystem: str,
    name: str,
    path: str | None = None,
    parent: str | None = None,
    driver: str | None = None,
    **properties: str,
) -> UdevDevice:
    where = path or f"{SYS}/{name}"
    above = parent or where.rpartition("/")[0]
    return UdevDevice(subsystem, name, where, above, driver, properties)


def attributes(folder: str, **values: str | int) -> dict[str, str]:
    """Files of one sysfs folder, one value each."""
    return {f"{folder}/{name}": f"{value}\n" for name, value in values.items()}


def seen(host: FakeHost) -> Seen:
    """What a finder may build on when it is the first: the firmware's table alone."""
    return Seen(tables=smbios.tables(host))
