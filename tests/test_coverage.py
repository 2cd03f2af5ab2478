"""Every device of sysfs is named and has a verdict: tested, or why not.

Source: a direct listing of sysfs (Documentation/ABI of the kernel), made here without livecheck.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest


@pytest.mark.slow
def test_nothing_of_this_machine_is_left_out(tmp_path: Path) -> None:
    """PCI functions, block devices, USB devices, network interfaces, power supplies."""
    words = [sys.executable, "-m", "livecheck", "run", "--json", "--probes", "passive"]
    words += ["--shop", str(tmp_path)]
    done = subprocess.run(words, capture_output=True, check=True, timeout=300)
    devices = json.loads(done.stdout)["devices"]
    named = {(d["subsystem"], d["name"]) for d in devices}
    folders = {
        "pci": "/sys/bus/pci/devices",
        "usb": "/sys/bus/usb/devices",
        "block": "/sys/class/block",
        "net": "/sys/class/net",
        "power_supply": "/sys/class/power_supply",
    }
    listed = {
        (subsystem, entry.name)
        for subsystem, folder in folders.items()
        if Path(folder).is_dir()
        for entry in Path(folder).iterdir()
        # ``1-1:1.0`` is an interface of a USB device, ``bonding_masters`` no interface at all.
        if ":" not in entry.name or subsystem == "pci"
        if entry.is_symlink()
        if not (entry / "partition").exists()
    }
    assert listed, "this machine shows no device at all: the test would prove nothing"
    assert listed <= named
    for device in devices:
        assert device["tested"] == bool(device["checks"])
        assert device["tested"] or device["why_not"]
