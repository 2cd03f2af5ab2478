"""Messages of nl80211 for tests, encoded by pyroute2's own classes or from the header.

What pyroute2 knows as a typed attribute it encodes; what it holds as opaque bytes is
packed here by the layout of include/uapi/linux/nl80211.h.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping

from livecheck.radio.attributes import pack
from livecheck.radio.nl80211 import Attr


def u32(value: int) -> bytes:
    return struct.pack("=I", value)


def channel(mhz: int, *flags: int, mbm: int = 2000) -> bytes:
    """A channel; flags are numbers of enum nl80211_frequency_attr."""
    return pack({1: u32(mhz), **dict.fromkeys(flags, b""), 6: u32(mbm)})


def rows(*values: bytes) -> bytes:
    """A nested list: the types count up."""
    return pack(dict(enumerate(values)))


def band(*channels: bytes, **capabilities: bytes) -> bytes:
    """A band; ``ht``, ``vht``, ``he``: what it can do."""
    inside: dict[int, bytes] = {1: rows(*channels)}
    for name, number in (("ht", 4), ("vht", 8)):
        if name in capabilities:
            inside[number] = capabilities[name]
    if "he" in capabilities:
        inside[9] = rows(pack({3: capabilities["he"]}))
    return pack(inside)


def wiphy(index: int, name: str, bands: Mapping[int, bytes], **more: bytes) -> bytes:
    """One message of a wiphy dump."""
    return pack(
        {
            Attr.WIPHY: u32(index),
            Attr.WIPHY_NAME: name.encode() + b"\0",
            Attr.WIPHY_BANDS: pack(bands),
            **{Attr[key.upper()]: value for key, value in more.items()},
        }
    )


TWO_BANDS = {
    0: band(channel(2412), channel(2437), channel(2467, 2), ht=b"\x6f\x01"),
    1: band(
        channel(5180, 3), channel(5260, 3, 5), ht=b"\x6f\x01", vht=u32(0x0390F1B0), he=bytes(11)
    ),
}
"""2.4 GHz with a disabled channel, 5 GHz listening only and with radar."""


def interface(index: int, name: str, radio: int = 0, sort: int = 2) -> bytes:
    return pack(
        {
            Attr.IFINDEX: u32(index),
            Attr.IFNAME: name.encode() + b"\0",
            Attr.WIPHY: u32(radio),
            Attr.IFTYPE: u32(sort),
            Attr.MAC: bytes.fromhex("025ea1004217"),
        }
    )


def cell(
    address: str,
    mhz: int,
    dbm: float,
    chains: Mapping[int, int] | None = None,
    ssid: bytes = b"bench",
) -> bytes:
    """A scan result."""
    inside = {
        1: bytes.fromhex(address.replace(":", "")),
        2: u32(mhz),
        6: bytes([0, len(ssid)]) + ssid + bytes([1, 1, 0x82]),
        7: struct.pack("=i", round(dbm * 100)),
        10: u32(120),
    }
    if chains:
        inside[19] = pack({n: struct.pack("=b", level) for n, level in chains.items()})
    return pack({Attr.IFINDEX: u32(4), Attr.BSS: pack(inside)})


def rules(country: str) -> bytes:
    """The regulatory rules in force: one range."""
    one = pack({1: u32(0), 2: u32(2402000), 3: u32(2472000), 4: u32(40000), 6: u32(2000)})
    return pack({Attr.REG_ALPHA2: country.encode() + b"\0", Attr.REG_RULES: rows(one)})
