"""Public data sets the tests check against, fetched once into tests/.cache.

They come from the Debian mirror this machine itself is set up for, by apt's own
downloader, and are checked by SHA-256. A set that cannot be had fails the test that
needs it: a check that was not made must not look like one that passed.
"""

from __future__ import annotations

import hashlib
import subprocess
import tarfile
from pathlib import Path
from typing import Final

CACHE: Final = Path(__file__).parent / ".cache"
APT_HELPER: Final = "/usr/lib/apt/apt-helper"

PCIUTILS: Final = (
    "pool/main/p/pciutils/pciutils_3.9.0.orig.tar.gz",
    "8953a785b2e3af414434b8fdcbfb75c90758819631001e60dd3afb89b22b2331",
)
"""pciutils 3.9.0, GPL-2.0+: tests/ holds recorded configuration space of real machines."""


class NotFetched(Exception):
    """A data set could not be had; says what was tried."""


def debian_source(pool_path: str, sha256: str) -> Path:
    """Folder of an unpacked upstream tarball of Debian's pool. Raises NotFetched."""
    archive = CACHE / pool_path.rpartition("/")[2]
    if not is_whole(archive, sha256):
        _download(pool_path, sha256, archive)
    return unpacked(archive)


def unpacked(archive: Path) -> Path:
    """The one folder at the top of a tar archive of the cache, unpacked once beside it."""
    folder = CACHE / archive.name.partition(".tar")[0]
    if not folder.is_dir():
        partial = folder.with_suffix(".partial")
        with tarfile.open(archive) as tar:
            # Debian 12's Python 3.11.2 has no filters yet; the checksum vouches for the archive.
            tar.extraction_filter = getattr(tarfile, "data_filter", lambda member, _path: member)
            tar.extractall(partial)
        partial.rename(folder)
    (top,) = [p for p in folder.iterdir() if p.is_dir()]
    return top


def is_whole(archive: Path, sha256: str) -> bool:
    """Whether the file is there, and is the one meant."""
    return archive.is_file() and hashlib.sha256(archive.read_bytes()).hexdigest() == sha256


def _mirrors() -> list[str]:
    """Repositories of Debian itself that this machine's apt knows."""
    words = ["apt-get", "indextargets", "Created-By: Packages", "Origin: Debian"]
    listed = subprocess.run(
        [*words, "--format", "$(REPO_URI)"], capture_output=True, text=True, check=True
    )
    return sorted(set(listed.stdout.split()))


def _download(pool_path: str, sha256: str, to: Path) -> None:
    CACHE.mkdir(exist_ok=True)
    said = []
    for mirror in _mirrors():
        done = subprocess.run(
            [APT_HELPER, "download-file", f"{mirror}{pool_path}", str(to), f"SHA256:{sha256}"],
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode == 0 and is_whole(to, sha256):
            return
        said.append(done.stderr.strip())
    tried = "\n".join(said) or "apt lists no repository of Debian's: run apt-get update"
    raise NotFetched(f"{pool_path} could not be fetched from this machine's mirrors:\n{tried}")
