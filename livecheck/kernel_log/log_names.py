"""Which part a saved log means by a name that another system gave it.

``sda`` is another disk in another system. The log itself says which: the lines with which
the kernel found the drives hold their models, and an NVMe drive's its address.
"""

from __future__ import annotations

import re
from typing import Final

import msgspec

from livecheck.host import KernelMessage
from livecheck.kernel_log.attach import Lookup
from livecheck.records import Inventory, KernelEvent

_SCSI: Final = re.compile(
    r"^scsi (\d+:\d+:\d+:\d+): (?:Direct-Access|CD-ROM)\s+(?:\S.{7}) (.{16}) .{4} PQ:"
)
_DISK: Final = re.compile(r"^s[dr] (\d+:\d+:\d+:\d+): \[(s[dr][a-z0-9]+)\]")
_ATA: Final = re.compile(r"^(ata\d+)\.\d+: ATA(?:PI)?-?\d*: ([^,]+),")
_NVME: Final = re.compile(r"^nvme (nvme\d+): pci function ([0-9a-f:.]+)")

_OWN_TO_ITS_SYSTEM: Final = re.compile(r"(?:sd[a-z]+\d*|sr\d+|\d+:\d+:\d+:\d+|host\d+|dm-\d+)")
"""LogNames that say nothing without the lines above."""


class LogNames:
    """The names a log gave to the parts of an inventory, learnt line by line."""

    def __init__(self, inventory: Inventory) -> None:
        self._lookup = Lookup(inventory)
        drives = [p for p in inventory.parts if p.kind in ("drive", "optical-drive")]
        self._models = {_plain(p.model): p.id for p in drives if p.model}
        disks = [p.id for p in drives if p.kind == "drive"]
        self._only = disks[0] if len(disks) == 1 else None
        self._address = {d.name: d.component for d in inventory.devices if d.subsystem == "pci"}
        self._known: dict[str, str | None] = {}
        """None: what the log calls so is no part of this machine."""
        self._all_named = all(p.model for p in drives)

    def learn(self, message: KernelMessage) -> None:
        """Take in one line; lines of a later start replace what an earlier one said."""
        found = _SCSI.match(message.text) or _ATA.match(message.text)
        if found is not None:
            self._name(found[1], self._by_model(found[2]))
        disk = _DISK.match(message.text)
        if disk is not None and disk[1] in self._known:
            self._name(disk[2], self._known[disk[1]])
        elif disk is not None:
            self._known.pop(disk[2], None)
        nvme = _NVME.match(message.text)
        if nvme is not None:
            self._name(nvme[1], self._address.get(nvme[2]))

    def _name(self, name: str, part: str | None) -> None:
        # A drive that tells no model here may be the one that the log names.
        if part is None and not self._all_named:
            self._known.pop(name, None)
        else:
            self._known[name] = part

    def _by_model(self, model: str) -> str | None:
        """The one drive whose model begins so: SCSI's field holds sixteen characters."""
        wanted = _plain(model)
        found = [part for own, part in self._models.items() if own.startswith(wanted)]
        return found[0] if len(found) == 1 and wanted else None

    def attach(self, found: tuple[KernelEvent, ...]) -> tuple[KernelEvent, ...]:
        """The events with the components their names mean by now."""
        return tuple(
            msgspec.structs.replace(named, component=self._meant(event, named.component))
            for event, named in zip(found, self._lookup.attached(found), strict=True)
        )

    def _meant(self, event: KernelEvent, otherwise: str | None) -> str | None:
        name = event.device or ""
        base = re.match(r"ata\d+|nvme\d+|sd[a-z]+|sr\d+|\d+:\d+:\d+:\d+", name)
        if base is not None and base[0] in self._known:
            return self._known[base[0]]
        return self._only if _OWN_TO_ITS_SYSTEM.fullmatch(name) else otherwise


def _plain(model: str) -> str:
    return " ".join(model.split()).casefold()
