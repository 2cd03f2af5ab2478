"""Asking the kernel for its radios, and letting one of them scan.

Generic netlink through pyroute2: it finds the family, keeps requests and answers
together and ends dumps; the messages go on as bytes. Of all commands of nl80211 only
those that read are asked here, and ``TRIGGER_SCAN``; nothing here can connect.
"""

from __future__ import annotations

import contextlib
import errno
import socket
import struct
import time
from collections.abc import Callable, Iterator
from typing import Any, Final

from pyroute2 import IPRoute
from pyroute2.netlink import (
    NETLINK_ADD_MEMBERSHIP,
    NLM_F_ACK,
    NLM_F_DUMP,
    NLM_F_REQUEST,
    SOL_NETLINK,
    genlmsg,
)
from pyroute2.netlink.exceptions import NetlinkError
from pyroute2.netlink.generic import AsyncGenericNetlinkSocket, GenericNetlinkSocket

from livecheck.radio.attributes import table, unsigned
from livecheck.radio.nl80211 import Attr

_NETLINK_GENERIC: Final = 16
"""include/uapi/linux/netlink.h."""
FAMILY: Final = "nl80211"
QUESTIONS: Final = {
    "wiphy": 1,
    "interface": 5,
    "station": 17,
    "reg": 31,
    "scan": 32,
    "survey": 50,
}
"""Dumps that only read -> enum nl80211_commands."""
OF_AN_INTERFACE: Final = frozenset({"station", "scan", "survey"})
TRIGGER_SCAN: Final = 33
SCAN_DONE: Final = 34
SCAN_ABORTED: Final = 35
HEADS: Final = 20
"""Bytes of nlmsghdr and genlmsghdr before the attributes."""
_IFF_UP: Final = 1
SETTLE_SECONDS: Final = 0.3
"""For which the link must stay up before the scan: firmware is loaded on the way."""


class KernelRefused(Exception):
    """The kernel said no; holds its errno."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.errno = number


class _Message(genlmsg):  # type: ignore[misc]
    """A message whose attributes stay bytes; named are those of our own requests."""

    nla_map = (
        (Attr.IFINDEX.value, "IFINDEX", "uint32"),
        (Attr.SCAN_SSIDS.value, "SCAN_SSIDS", "cdata"),
        (Attr.SPLIT_WIPHY_DUMP.value, "SPLIT_WIPHY_DUMP", "flag"),
    )


class _Quiet(AsyncGenericNetlinkSocket):  # type: ignore[misc]
    # A kernel without radios is no error to be logged over the screen.
    module_err_level = "debug"


class _Socket(GenericNetlinkSocket):  # type: ignore[misc]
    async_class = _Quiet


@contextlib.contextmanager
def _open(family: str) -> Iterator[Any]:
    """A socket bound to a family. Raises KernelRefused: ENOENT when the kernel has none such."""
    opened = _Socket()
    try:
        opened.bind(family, _Message)
        yield opened
    except NetlinkError as error:
        raise KernelRefused(error.code) from error
    finally:
        opened.close()


def ask(question: str, index: int | None = None, family: str = FAMILY) -> tuple[bytes, ...]:
    """The messages of one dump, each without its headers. Raises KernelRefused and OSError."""
    request = _Message()
    request["cmd"] = QUESTIONS[question]
    request["version"] = 1
    if index is not None:
        request["attrs"].append(["IFINDEX", index])
    if question == "wiphy":
        # Without it the kernel leaves out what does not fit into one message.
        request["attrs"].append(["SPLIT_WIPHY_DUMP", True])
    with _open(family) as opened:
        answers = opened.nlm_request(
            request, msg_type=opened.prid, msg_flags=NLM_F_REQUEST | NLM_F_DUMP
        )
        return tuple(_body(answer) for answer in answers)


def _body(message: Any) -> bytes:
    return bytes(message.data[message.offset + HEADS : message.offset + message.length])


# --- Up and down


@contextlib.contextmanager
def switched_on(index: int) -> Iterator[bool]:
    """The interface up meanwhile, and afterwards as it was before.

    Gives True when it had to be switched on. Raises KernelRefused: ERFKILL when a switch
    blocks the radio, ENOENT and others from a driver that cannot start its card.
    """
    with IPRoute() as route:
        was_up = bool(_flags(route, index) & _IFF_UP)
        if not was_up:
            _set(route, index, "up")
        try:
            yield not was_up
        finally:
            if not was_up:
                _set(route, index, "down")


def _flags(route: Any, index: int) -> int:
    try:
        return int(route.get_links(index)[0]["flags"])
    except NetlinkError as error:
        raise KernelRefused(error.code) from error
    except IndexError as error:
        raise KernelRefused(errno.ENODEV) from error


def _set(route: Any, index: int, state: str) -> None:
    try:
        route.link("set", index=index, state=state)
    except NetlinkError as error:
        raise KernelRefused(error.code) from error


def is_up(index: int) -> bool:
    """Whether an interface is switched on. Raises KernelRefused."""
    with IPRoute() as route:
        return bool(_flags(route, index) & _IFF_UP)


# --- Scan


def scan(index: int, deadline: float, stopped: Callable[[], bool] = lambda: False) -> None:
    """One scan over all channels the rules allow, until it is done.

    Where the rules allow it the card asks who is there (a probe request for every name);
    elsewhere it only listens. Raises KernelRefused: EBUSY while another scan runs, ETIMEDOUT,
    ECANCELED when the card gave up or ``stopped`` said so.
    """
    with _open(FAMILY) as asked, _listening(asked.mcast_groups.get("scan")) as events:
        request = _Message()
        request["cmd"] = TRIGGER_SCAN
        request["version"] = 1
        # One name of no length: the wildcard.
        request["attrs"] += [["IFINDEX", index], ["SCAN_SSIDS", struct.pack("=HH", 4, 1)]]
        list(asked.nlm_request(request, msg_type=asked.prid, msg_flags=NLM_F_REQUEST | NLM_F_ACK))
        _await_end(events, index, time.monotonic() + deadline, stopped)


@contextlib.contextmanager
def _listening(group: int | None) -> Iterator[socket.socket]:
    if group is None:
        raise KernelRefused(errno.EOPNOTSUPP)
    with socket.socket(socket.AF_NETLINK, socket.SOCK_RAW, _NETLINK_GENERIC) as events:
        events.bind((0, 0))
        events.setsockopt(SOL_NETLINK, NETLINK_ADD_MEMBERSHIP, group)
        events.settimeout(0.25)
        yield events


def _await_end(
    events: socket.socket, index: int, until: float, stopped: Callable[[], bool]
) -> None:
    while time.monotonic() < until:
        if stopped():
            raise KernelRefused(errno.ECANCELED)
        try:
            data = events.recv(1 << 16)
        except TimeoutError:
            continue
        for command, body in parse(data):
            if unsigned(table(body).get(Attr.IFINDEX)) != index:
                continue
            if command == SCAN_DONE:
                return
            if command == SCAN_ABORTED:
                raise KernelRefused(errno.ECANCELED)
    raise KernelRefused(errno.ETIMEDOUT)


def parse(data: bytes) -> Iterator[tuple[int, bytes]]:
    """Command and attributes of each generic netlink message in a datagram."""
    at = 0
    while at + HEADS <= len(data):
        (length,) = struct.unpack_from("=I", data, at)
        if length < HEADS or at + length > len(data):
            return
        yield data[at + 16], data[at + HEADS : at + length]
        at += (length + 3) & ~3
