"""``python -m tests.shares --kernel FOLDER --saves N [smb] [nfs]``: is anything lost or mixed?

FOLDER: a linux-image package of Debian, unpacked (``dpkg -x``). Two virtual machines mount one
share and save at the same moment; they are started alike, so their processes bear the same
numbers. Afterwards everything that a bench said it had saved must stand on the server, whole,
once; ``figures.json`` holds what it came to. Needs qemu-system-x86, busybox-static, cpio, samba
and nfs-ganesha-vfs, and root. Prints figures as JSON; status 1: something was lost or mixed; 77:
cannot be tried here, with the reason.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path

from tests.shares import guest, servers, trial


def main() -> int:
    """The command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.shares", description=__doc__)
    parser.add_argument("sorts", nargs="*", default=["smb", "nfs"], metavar="smb|nfs")
    parser.add_argument("--kernel", type=Path, required=True, metavar="FOLDER")
    parser.add_argument("--saves", type=int, default=1000, help="of each bench")
    parser.add_argument("--killed", action="store_true", help="one bench loses power half way")
    options = parser.parse_args()
    for sort in options.sorts:
        why = guest.missing(options.kernel) or servers.missing(sort)
        if why is not None:
            print(f"{sort}: cannot be tried here: {why}", file=sys.stderr)
            return 77
    sound = True
    for sort in options.sorts:
        with tempfile.TemporaryDirectory(prefix="livecheck-shares-") as folder:
            found = trial.played(sort, options.kernel, Path(folder), options.saves, options.killed)
        print(json.dumps(found), flush=True)
        sound = sound and not found["wrong"]
    return 0 if sound else 1


if __name__ == "__main__":
    sys.exit(main())
