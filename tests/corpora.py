"""Recordings of drives that tests check against, by name, version and sha256.

Debian's come through ``tests.datasets``; pySMART's test data stands in its source
distribution on the Python package index. Nothing of them is kept in the project, and
what cannot be fetched fails the test that needs it.
"""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Final

from tests import datasets

LIBATASMART: Final = (
    "pool/main/liba/libatasmart/libatasmart_0.19.orig.tar.xz",
    "61f0ea345f63d28ab2ff0dc352c22271661b66bf09642db3a4049ac9dbdb0f8d",
)
"""libatasmart 0.19, LGPL-2.1+: blob-examples/ holds 18 SMART recordings of real drives."""

PYSMART: Final = (
    "pySMART==1.4.3",
    "pysmart-1.4.3.tar.gz",
    "64bcce7da044efe9e23f7a813ce748775abd4803a7fc9b9617f530a56853c179",
)
"""pySMART 1.4.3, LGPL-2.1+: tests/dataset/ holds recorded outputs of smartctl."""


@cache
def smart_blobs() -> Path:
    """Folder of raw SMART recordings. Raises datasets.NotFetched."""
    return datasets.debian_source(*LIBATASMART) / "blob-examples"


@cache
def smartctl_outputs() -> Path:
    """Folder of recorded smartctl outputs. Raises datasets.NotFetched."""
    requirement, name, sha256 = PYSMART
    archive = datasets.CACHE / name
    if not datasets.is_whole(archive, sha256):
        datasets.CACHE.mkdir(exist_ok=True)
        said = _download(requirement, sha256)
        if not datasets.is_whole(archive, sha256):
            archive.unlink(missing_ok=True)
            raise datasets.NotFetched(f"{requirement} with sha256 {sha256}: {said}")
    return datasets.unpacked(archive) / "tests" / "dataset"


def _download(requirement: str, sha256: str) -> str:
    """With its hash told beforehand: pip runs a source's own code to learn what it needs."""
    options = ["--no-deps", "--no-binary", ":all:", "--dest", str(datasets.CACHE)]
    done = subprocess.run(
        [sys.executable, "-m", "pip", "download", *options, "--requirement", "/dev/stdin"],
        input=f"{requirement} --hash=sha256:{sha256}\n",
        capture_output=True,
        text=True,
        check=False,
    )
    return done.stderr[-2000:] or done.stdout[-2000:]
