"""Lay a bed out under umockdev and run a command in it.

Run by the system's Python, which has the GObject bindings; everything it needs comes
as one JSON file: ``{"description": str, "files": {path: hex}, "command": [str]}``.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import gi

gi.require_version("UMockdev", "1.0")
from gi.repository import UMockdev  # noqa: E402  (the version must be asked for first)


def main(order_file: str) -> int:
    order = json.loads(Path(order_file).read_text("utf-8"))
    bed = UMockdev.Testbed.new()
    bed.add_from_string(order["description"])
    root = Path(bed.get_root_dir())
    for name, content in order["files"].items():
        path = root / name.lstrip("/")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(bytes.fromhex(content))
    environment = {**os.environ, "UMOCKDEV_DIR": str(root)}
    environment["LD_PRELOAD"] = "libumockdev-preload.so.0"
    return subprocess.run(order["command"], env=environment, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
