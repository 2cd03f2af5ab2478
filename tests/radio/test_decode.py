"""Messages of nl80211 against the kernel's header and pyroute2's encoder and decoder."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from typing import Any

import pytest
from pyroute2.netlink.nl80211 import nl80211cmd

from livecheck.radio import attributes, decode, netlink, nl80211
from livecheck.radio.nl80211 import (
    Attr,
    BandAttr,
    BandIftypeAttr,
    BssAttr,
    FrequencyAttr,
    RuleAttr,
    StaInfo,
    SurveyInfo,
)
from livecheck.radio.state import RadioChannel
from tests.radio import messages

HEADER = "linux/nl80211.h"
PREFIXES = {
    Attr: "NL80211_ATTR_",
    BandAttr: "NL80211_BAND_ATTR_",
    BandIftypeAttr: "NL80211_BAND_IFTYPE_ATTR_",
    FrequencyAttr: "NL80211_FREQUENCY_ATTR_",
    BssAttr: "NL80211_BSS_",
    RuleAttr: "NL80211_ATTR_",
    StaInfo: "NL80211_STA_INFO_",
    SurveyInfo: "NL80211_SURVEY_INFO_",
}


def test_numbers_are_the_kernels(tmp_path: Path) -> None:
    """Source: include/uapi/linux/nl80211.h of the installed headers, through the compiler."""
    wanted = {f"{prefix}{m.name}": m.value for enum, prefix in PREFIXES.items() for m in enum}
    wanted |= {
        f"NL80211_CMD_GET_{name.upper()}": number for name, number in netlink.QUESTIONS.items()
    }
    wanted |= {
        "NL80211_CMD_TRIGGER_SCAN": netlink.TRIGGER_SCAN,
        "NL80211_CMD_NEW_SCAN_RESULTS": netlink.SCAN_DONE,
        "NL80211_CMD_SCAN_ABORTED": netlink.SCAN_ABORTED,
        "NL80211_IFTYPE_STATION": nl80211.STATION,
        "NL80211_RRF_NO_IR": nl80211.NO_IR,
        "NL80211_BSS_STATUS_ASSOCIATED": nl80211.ASSOCIATED,
        "NL80211_BAND_2GHZ": 0,
        "NL80211_BAND_5GHZ": 1,
        "NL80211_BAND_60GHZ": 2,
        "NL80211_BAND_6GHZ": 3,
        "NL80211_BAND_S1GHZ": 4,
    }
    lines = "".join(f'printf("{name} %d\\n", (int){name});' for name in wanted)
    source = tmp_path / "numbers.c"
    source.write_text(f"#include <stdio.h>\n#include <{HEADER}>\nint main(void) {{{lines}}}\n")
    subprocess.run(["gcc", "-o", str(tmp_path / "numbers"), str(source)], check=True)
    said = subprocess.run([str(tmp_path / "numbers")], capture_output=True, text=True, check=True)
    theirs = {name: int(value) for name, value in re.findall(r"(\w+) (-?\d+)", said.stdout)}
    assert theirs == wanted


def encoded(attrs: list[list[Any]]) -> bytes:
    """A message by pyroute2, without its headers."""
    message = nl80211cmd()
    message["attrs"] = attrs
    message.encode()
    return bytes(message.data[netlink.HEADS :])


def test_an_interface_that_pyroute2_encoded() -> None:
    """Source: pyroute2's own table of types."""
    body = encoded(
        [["NL80211_ATTR_IFINDEX", 4], ["NL80211_ATTR_IFNAME", "wlan0"],
         ["NL80211_ATTR_WIPHY", 0], ["NL80211_ATTR_IFTYPE", 2],
         ["NL80211_ATTR_MAC", "02:5e:a1:00:42:17"], ["NL80211_ATTR_WIPHY_FREQ", 2437]]
    )  # fmt: skip
    (found,) = decode.interfaces([body])
    assert (found.index, found.name, found.radio, found.type) == (4, "wlan0", 0, 2)
    assert found.address == "02:5e:a1:00:42:17" and found.mhz == 2437


def theirs(body: bytes) -> Any:
    """The same message decoded by pyroute2."""
    head = (len(body) + netlink.HEADS).to_bytes(4, "little") + bytes(12) + b"\x22\x01\0\0"
    message = nl80211cmd(head + body)
    message.decode()
    return message


def test_a_cell_as_pyroute2_reads_it() -> None:
    """Address, frequency, level and name agree."""
    body = messages.cell("02:00:00:00:01:00", 2437, -43.5, {0: -44, 1: -61})
    (found,) = decode.cells([body])
    bss = theirs(body).get_attr("NL80211_ATTR_BSS")
    assert found.address == bss.get_attr("NL80211_BSS_BSSID")
    assert found.mhz == bss.get_attr("NL80211_BSS_FREQUENCY")
    assert found.dbm == bss.get_attr("NL80211_BSS_SIGNAL_MBM")["SIGNAL_STRENGTH"]["VALUE"]
    elements = bss.get_attr("NL80211_BSS_INFORMATION_ELEMENTS")
    assert (found.ssid or "").encode() == elements["SSID"]
    assert found.chains == {"0": -44, "1": -61}


def test_a_radio_told_of_in_pieces() -> None:
    """A split dump gives a band's channels a few at a time; they are joined."""
    first = messages.wiphy(0, "phy0", {0: messages.band(messages.channel(2412))})
    second = messages.wiphy(0, "phy0", {0: messages.band(messages.channel(2437), ht=b"\x6f\x01")})
    other = messages.wiphy(1, "phy1", messages.TWO_BANDS)
    one, two = decode.radios([first, second, other])
    assert [c.mhz for c in one.bands[0].channels] == [2412, 2437]
    assert one.bands[0].modes == ("legacy", "HT")
    assert [b.name for b in two.bands] == ["2.4 GHz", "5 GHz"]
    assert two.bands[1].modes == ("legacy", "HT", "VHT", "HE")
    assert two.frequencies == (2412, 2437, 5180, 5260)
    assert two.bands[1].channels[1] == RadioChannel(
        mhz=5260, no_transmit=True, radar=True, max_dbm=20.0
    )


def test_rules_of_a_country() -> None:
    """Kilohertz and hundredths of a dBm, as nl80211.h says; a radio may keep its own."""
    ranges = attributes.pack({1: messages.u32(1 << 7), 2: messages.u32(5170000),
                              3: messages.u32(5250000), 4: messages.u32(80000),
                              6: messages.u32(2300)})  # fmt: skip
    body = attributes.pack({Attr.REG_ALPHA2: b"DE\0", Attr.REG_RULES: messages.rows(ranges),
                            Attr.WIPHY: messages.u32(1)})  # fmt: skip
    world, own = decode.regulatory([messages.rules("00"), body])
    assert world.country == "00" and world.radio is None
    assert not world.rules[0].no_transmit and world.rules[0].end_mhz == 2472
    (one,) = own.rules
    assert own.country == "DE" and own.radio == 1
    assert (one.begin_mhz, one.end_mhz, one.bandwidth_mhz) == (5170, 5250, 80)
    assert one.max_dbm == 23 and one.no_transmit


def test_other_ends_and_noise() -> None:
    """Signed levels, and what a driver did not measure is left out."""
    info = attributes.pack({7: b"\xc9", 11: messages.u32(12), 12: messages.u32(3),
                            25: attributes.pack({0: b"\xc9", 1: b"\xa0"})})  # fmt: skip
    body = attributes.pack({Attr.MAC: bytes.fromhex("020000000100"), Attr.STA_INFO: info})
    (other,) = decode.stations([body])
    assert (other.dbm, other.retries, other.failed) == (-55, 12, 3)
    assert other.chains == {"0": -55, "1": -96}
    survey = attributes.pack(
        {Attr.SURVEY_INFO: attributes.pack({1: messages.u32(2412), 2: b"\xa5"})}
    )
    silent = attributes.pack({Attr.SURVEY_INFO: attributes.pack({1: messages.u32(2417)})})
    assert decode.noise([survey, silent]) == {"2412": -91}


@pytest.mark.parametrize("cut", range(0, 200, 7))
def test_a_message_cut_off_anywhere(cut: int) -> None:
    """What is damaged is passed over and never raises."""
    for body in (messages.wiphy(0, "phy0", messages.TWO_BANDS),
                 messages.cell("02:00:00:00:01:00", 2437, -40, {0: -40}),
                 messages.interface(4, "wlan0")):  # fmt: skip
        for reader in (decode.radios, decode.interfaces, decode.regulatory, decode.cells,
                       decode.stations, decode.noise):  # fmt: skip
            reader([body[:cut]])
            reader([bytes(cut), b"\xff" * cut])


def test_hidden_and_strange_names() -> None:
    """A hidden network's name is empty or all zeros; noise is shown as such."""
    for raw, wanted in ((b"", None), (b"\0\0\0", None), (b"\xff\x1b[2J", "\ufffd\x1b[2J")):
        (found,) = decode.cells([messages.cell("02:00:00:00:01:00", 2437, -40, ssid=raw)])
        assert found.ssid == wanted
