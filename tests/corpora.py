"""Public recordings that tests check against, fetched by name, version and sha256.

Nothing of them is kept in the project. They come through this machine's own package
managers and stay in ``tests/.cache``. What cannot be fetched fails the test that
needs it, with the command's own words.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import subprocess
import sys
import tarfile
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Final

import msgspec

CACHE: Final = Path(__file__).parent / ".cache"
RELEASE: Final = "bookworm"
"""The Debian release whose sources are named below; other machines ask for it by name."""


class Unavailable(Exception):
    """A recording that could not be had; says why."""


class Corpus(msgspec.Struct, frozen=True, kw_only=True):
    """One archive."""

    name: str
    version: str
    archive: str
    sha256: str
    kind: str
    """``pypi``: a source distribution; ``debian``: the upstream part of a source package."""


PYSMART: Final = Corpus(
    name="pySMART",
    version="1.4.3",
    archive="pysmart-1.4.3.tar.gz",
    sha256="64bcce7da044efe9e23f7a813ce748775abd4803a7fc9b9617f530a56853c179",
    kind="pypi",
)
LIBATASMART: Final = Corpus(
    name="libatasmart",
    version="0.19-5",
    archive="libatasmart_0.19.orig.tar.xz",
    sha256="61f0ea345f63d28ab2ff0dc352c22271661b66bf09642db3a4049ac9dbdb0f8d",
    kind="debian",
)
PCIUTILS: Final = Corpus(
    name="pciutils",
    version="1:3.9.0-4",
    archive="pciutils_3.9.0.orig.tar.gz",
    sha256="8953a785b2e3af414434b8fdcbfb75c90758819631001e60dd3afb89b22b2331",
    kind="debian",
)


@cache
def folder(corpus: Corpus) -> Path:
    """The unpacked archive. Raises Unavailable."""
    archive = CACHE / corpus.archive
    if not _whole(archive, corpus):
        CACHE.mkdir(exist_ok=True)
        said = _from_pypi(corpus) if corpus.kind == "pypi" else _from_debian(corpus)
        if not _whole(archive, corpus):
            archive.unlink(missing_ok=True)
            raise Unavailable(
                f"{corpus.name} {corpus.version} ({corpus.archive}) could not be fetched, or its "
                f"sha256 is not {corpus.sha256}:\n{said}"
            )
    target = CACHE / f"{corpus.archive}.d"
    if not target.is_dir():
        partial = target.with_suffix(".part")
        shutil.rmtree(partial, ignore_errors=True)
        with tarfile.open(archive) as tar:
            tar.extractall(partial, filter="data")
        partial.rename(target)
    return next(entry for entry in target.iterdir() if entry.is_dir())


def _whole(archive: Path, corpus: Corpus) -> bool:
    if not archive.is_file():
        return False
    return hashlib.sha256(archive.read_bytes()).hexdigest() == corpus.sha256


def _run(argv: Sequence[str], cwd: Path) -> str:
    done = subprocess.run(
        argv, cwd=cwd, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )
    return f"$ {argv[0]} … -> {done.returncode}\n{done.stdout[-2000:]}{done.stderr[-2000:]}"


def _from_pypi(corpus: Corpus) -> str:
    wanted = f"{corpus.name}=={corpus.version}"
    options = ["--no-deps", "--no-binary", ":all:", "--dest", str(CACHE)]
    return _run([sys.executable, "-m", "pip", "download", *options, wanted], CACHE)


def _from_debian(corpus: Corpus) -> str:
    """Ask apt for the source package, with lists of our own: the machine's stay as they are."""
    work = CACHE / "apt"
    parts = work / "sources"
    for path in (parts, work / "lists" / "partial", work / "archives" / "partial"):
        path.mkdir(parents=True, exist_ok=True)
    if not _source_lists(Path("/etc/apt"), parts):
        return "no Debian package source is configured on this machine"
    options = [
        *("-o", "Dir::Etc::sourcelist=/dev/null", "-o", f"Dir::Etc::sourceparts={parts}"),
        *("-o", f"Dir::State::lists={work / 'lists'}", "-o", f"Dir::Cache={work}"),
        *("-o", "APT::Sandbox::User=root"),
    ]
    said = _run(["apt-get", *options, "update"], CACHE)
    wanted = f"{corpus.name}={corpus.version}"
    # apt also fetches Debian's own changes; only the upstream archive is needed, and its
    # sha256 says whether it came.
    return said + _run(["apt-get", *options, "source", "--download-only", wanted], CACHE)


def _source_lists(etc: Path, target: Path) -> bool:
    """Write the machine's binary package sources again as source packages of RELEASE."""
    shutil.rmtree(target)
    target.mkdir()
    found = [etc / "sources.list", *sorted((etc / "sources.list.d").glob("*"))]
    for path in found:
        if not path.is_file() or path.suffix not in (".list", ".sources"):
            continue
        text = path.read_text("utf-8")
        text = re.sub(r"(?m)^Types:.*$", "Types: deb-src", text)
        text = re.sub(r"(?m)^deb(?=[ \t])", "deb-src", text)
        text = re.sub(r"\b(?:bookworm|trixie)\b", RELEASE, text)
        if "deb-src" in text:
            (target / path.name).write_text(text, "utf-8")
    return any(target.iterdir())
