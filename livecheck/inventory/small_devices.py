"""Devices of one node each: TPM, environment sensors, cameras, the lid."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from livecheck import host as hosts
from livecheck.host import Host
from livecheck.inventory.tree import Contribution, Seen, device_of, known
from livecheck.records import CameraFacts, Device, Value


def _tpm(host: Host, path: str) -> dict[str, Value]:
    return {"version": hosts.number(host, f"{path}/tpm_version_major")}


def _sensor(host: Host, path: str) -> dict[str, Value]:
    return {"sensor": hosts.text(host, f"{path}/name")}


PLAIN: Final[tuple[tuple[str, str, Callable[[Host, str], dict[str, Value]]], ...]] = (
    ("tpm", r"tpm\d+", _tpm),
    ("iio", r"iio:device\d+", _sensor),
)
"""Subsystem, names of its devices, and what is read of each."""


def find(host: Host, seen: Seen) -> Contribution:
    """Everything that hangs on no bus of its own and is no part that can be swapped."""
    devices: list[Device] = []
    for subsystem, names, values in PLAIN:
        listed = [d for d in host.udev(subsystem) if re.fullmatch(names, d.name)]
        devices += [
            device_of(d, seen.owner(d.path), None, None, values(host, d.path)) for d in listed
        ]
    return Contribution(devices=(*devices, *_cameras(host, seen), *_lids(host)))


def _cameras(host: Host, seen: Seen) -> tuple[Device, ...]:
    """Video nodes; of the several a camera has, those that give pictures are marked."""
    devices = []
    for listed in host.udev("video4linux"):
        if not re.fullmatch(r"video\d+", listed.name):
            continue
        # udev's v4l_id writes the capabilities; without it the driver's first node is meant.
        said = listed.properties.get("ID_V4L_CAPABILITIES")
        first = hosts.number(host, f"{listed.path}/index") == 0
        name = hosts.text(host, f"{listed.path}/name")
        captures = first if said is None else ":capture:" in said
        facts = CameraFacts(captures=captures)
        devices.append(device_of(listed, seen.owner(listed.path), name, facts, {"camera": name}))
    return tuple(devices)


def _lids(host: Host) -> tuple[Device, ...]:
    """Lid switches of ACPI; the kernel tells their state in procfs alone."""
    folder = "/proc/acpi/button/lid"
    return tuple(
        Device(
            subsystem="lid",
            name=name,
            path=f"{folder}/{name}",
            attributes=known({"open": _lid_open(hosts.text(host, f"{folder}/{name}/state"))}),
        )
        for name in host.names(folder)
    )


def _lid_open(state: str | None) -> bool | None:
    word = (state or "").rpartition(":")[2].strip()
    return {"open": True, "closed": False}.get(word)
