"""The servers, each as a program of this machine that only this machine can reach."""

from __future__ import annotations

import contextlib
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from tests.shares.guest import HOST

PROGRAMS: Final = {"smb": "smbd", "nfs": "ganesha.nfsd"}
SMB: Final = """[global]
server role = standalone server
workgroup = BENCH
smb ports = {port}
interfaces = lo
bind interfaces only = yes
disable spoolss = yes
load printers = no
private dir = {work}
lock directory = {work}
state directory = {work}
cache directory = {work}
pid directory = {work}
ncalrpc dir = {work}/rpc
passdb backend = tdbsam:{work}/passdb.tdb
log file = {work}/log
[bench]
path = {served}
read only = no
force user = root
"""
NFS: Final = """NFS_CORE_PARAM {{ NFS_Port = {port}; Protocols = 4; Bind_addr = 127.0.0.1;
    Enable_NLM = false; Enable_RQUOTA = false; Plugins_Dir = /usr/lib/x86_64-linux-gnu/ganesha; }}
NFSV4 {{ Minor_Versions = 1, 2; Grace_Period = 10; Lease_Lifetime = 10; RecoveryBackend = fs;
    RecoveryRoot = {work}; Only_Numeric_Owners = true; }}
EXPORT_DEFAULTS {{ SecType = sys; }}
EXPORT {{ Export_Id = 7; Path = {served}; Pseudo = /bench; Access_Type = RW;
    Squash = No_Root_Squash; Protocols = 4; Transports = TCP; FSAL {{ Name = VFS; }} }}
"""


def missing(sort: str) -> str | None:
    """Why there is no such server here."""
    name = PROGRAMS[sort]
    return None if shutil.which(name) else f"not installed: {name}"


@contextlib.contextmanager
def serving(sort: str, served: Path, work: Path) -> Iterator[str]:
    """What the guest's ``mount`` is told, while the server runs."""
    work.mkdir()
    port = _free_port()
    text = (SMB if sort == "smb" else NFS).format(port=port, served=served, work=work)
    settings = work / "settings"
    settings.write_text(text, "utf-8")
    if sort == "smb":
        words = ["smbd", "--foreground", "--no-process-group", "-s", str(settings)]
        subprocess.run(
            ["pdbedit", "-s", str(settings), "-a", "-t", "root"],
            input=b"bench\nbench\n",
            check=True,
            capture_output=True,
        )
        mount = (f"-t cifs -o ip={HOST},port={port},uid=0,nosuid,nodev,noexec,vers=3,seal,"
                 f"username=root,password=bench //{HOST}/bench")  # fmt: skip
    else:
        words = ["ganesha.nfsd", "-F", "-f", str(settings), "-L", str(work / "log"), "-p",
                 str(work / "pid")]  # fmt: skip
        mount = (f"-t nfs4 -o addr={HOST},clientaddr=10.0.2.15,port={port},vers=4.2,nosuid,nodev,"
                 f"noexec {HOST}:/bench")  # fmt: skip
    server = subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                              stderr=subprocess.DEVNULL, start_new_session=True)  # fmt: skip
    try:
        _wait_for(port, server)
        yield mount
    finally:
        server.terminate()
        server.wait(30)


def _free_port() -> int:
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        return int(asked.getsockname()[1])


def _wait_for(port: int, server: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
            return
        assert server.poll() is None, "the server ended; see its log"
        time.sleep(0.2)
    raise AssertionError("the server does not answer")
