"""Messages of nl80211 as records (include/uapi/linux/nl80211.h).

Each message is what follows its generic netlink header. A radio is told of in many
messages, which are joined by its index (NL80211_ATTR_SPLIT_WIPHY_DUMP).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from livecheck.radio.attributes import address, signed, table, unsigned, walk, word
from livecheck.radio.nl80211 import (
    ASSOCIATED,
    BANDS,
    NO_IR,
    SSID_ELEMENT,
    Attr,
    BandAttr,
    BandIftypeAttr,
    BssAttr,
    FrequencyAttr,
    RuleAttr,
    StaInfo,
    SurveyInfo,
)
from livecheck.radio.state import (
    Band,
    Bss,
    FrequencyRule,
    Interface,
    Radio,
    RadioChannel,
    Regulatory,
    Station,
)

Messages = Sequence[bytes]


def radios(messages: Messages) -> tuple[Radio, ...]:
    """Every radio, from the messages of a wiphy dump."""
    found: dict[int, _Radio] = {}
    for message in messages:
        said = table(message)
        index = unsigned(said.get(Attr.WIPHY))
        if index is not None:
            found.setdefault(index, _Radio(index)).take(said)
    return tuple(one.record() for _, one in sorted(found.items()))


class _Radio:
    """A radio while its messages come in."""

    def __init__(self, index: int) -> None:
        self._index = index
        self._said: dict[int, bytes] = {}
        self._channels: dict[int, dict[int, RadioChannel]] = {}
        self._modes: dict[int, set[str]] = {}

    def take(self, said: dict[int, bytes]) -> None:
        """One more message about it."""
        self._said.update({k: v for k, v in said.items() if k != Attr.WIPHY_BANDS})
        for number, band in walk(said.get(Attr.WIPHY_BANDS, b"")):
            # A band comes a few channels at a time.
            channels = self._channels.setdefault(number, {})
            modes = self._modes.setdefault(number, {"legacy"})
            inside = table(band)
            for _, one in walk(inside.get(BandAttr.FREQS, b"")):
                channel = _channel(one)
                if channel is not None:
                    channels[channel.mhz] = channel
            modes |= _modes(inside)

    def record(self) -> Radio:
        """The radio as far as it was told of."""
        said = self._said
        return Radio(
            index=self._index,
            name=word(said.get(Attr.WIPHY_NAME)) or f"phy{self._index}",
            bands=tuple(
                Band(
                    name=BANDS.get(number, f"band {number}"),
                    channels=tuple(channels[mhz] for mhz in sorted(channels)),
                    modes=tuple(m for m in ORDER if m in self._modes[number]),
                )
                for number, channels in sorted(self._channels.items())
            ),
            interface_types=tuple(n for n, _ in walk(said.get(Attr.SUPPORTED_IFTYPES, b""))),
            antennas_rx=unsigned(said.get(Attr.WIPHY_ANTENNA_RX)),
            antennas_tx=unsigned(said.get(Attr.WIPHY_ANTENNA_TX)),
            available_rx=unsigned(said.get(Attr.WIPHY_ANTENNA_AVAIL_RX)),
            available_tx=unsigned(said.get(Attr.WIPHY_ANTENNA_AVAIL_TX)),
            own_rules=Attr.WIPHY_SELF_MANAGED_REG in said,
        )


ORDER: Final = ("legacy", "HT", "VHT", "HE", "EHT")


def _modes(band: dict[int, bytes]) -> set[str]:
    found = set()
    if unsigned(band.get(BandAttr.HT_CAPA)) is not None:
        found.add("HT")
    if unsigned(band.get(BandAttr.VHT_CAPA)) is not None:
        found.add("VHT")
    for _, one in walk(band.get(BandAttr.IFTYPE_DATA, b"")):
        inside = table(one)
        if BandIftypeAttr.HE_CAP_PHY in inside:
            found.add("HE")
        if BandIftypeAttr.EHT_CAP_PHY in inside:
            found.add("EHT")
    return found


def _channel(data: bytes) -> RadioChannel | None:
    said = table(data)
    mhz = unsigned(said.get(FrequencyAttr.FREQ))
    if mhz is None:
        return None
    power = unsigned(said.get(FrequencyAttr.MAX_TX_POWER))
    return RadioChannel(
        mhz=mhz,
        disabled=FrequencyAttr.DISABLED in said,
        no_transmit=FrequencyAttr.NO_IR in said,
        radar=FrequencyAttr.RADAR in said,
        # mBm: hundredths of a dBm.
        max_dbm=None if power is None else power / 100,
    )


def interfaces(messages: Messages) -> tuple[Interface, ...]:
    """Every interface of every radio; one without a network interface is left out."""
    found = []
    for said in map(table, messages):
        index, name = unsigned(said.get(Attr.IFINDEX)), word(said.get(Attr.IFNAME))
        radio = unsigned(said.get(Attr.WIPHY))
        if index is None or name is None or radio is None:
            continue
        found.append(
            Interface(
                index=index,
                name=name,
                radio=radio,
                type=unsigned(said.get(Attr.IFTYPE)) or 0,
                address=address(said.get(Attr.MAC)),
                mhz=unsigned(said.get(Attr.WIPHY_FREQ)),
                ssid=_name(said.get(Attr.SSID)),
            )
        )
    return tuple(found)


def regulatory(messages: Messages) -> tuple[Regulatory, ...]:
    """The kernel's rules, and those of radios that keep their own."""
    found = []
    for said in map(table, messages):
        country = word(said.get(Attr.REG_ALPHA2))
        if country is not None:
            rules = tuple(_rule(table(r)) for _, r in walk(said.get(Attr.REG_RULES, b"")))
            radio = unsigned(said.get(Attr.WIPHY))
            found.append(Regulatory(country=country, radio=radio, rules=rules))
    return tuple(found)


def _rule(said: dict[int, bytes]) -> FrequencyRule:
    def mhz(attr: RuleAttr) -> float:
        return (unsigned(said.get(attr)) or 0) / 1000

    power = unsigned(said.get(RuleAttr.POWER_RULE_MAX_EIRP))
    return FrequencyRule(
        begin_mhz=mhz(RuleAttr.FREQ_RANGE_START),
        end_mhz=mhz(RuleAttr.FREQ_RANGE_END),
        bandwidth_mhz=mhz(RuleAttr.FREQ_RANGE_MAX_BW),
        max_dbm=None if power is None else power / 100,
        no_transmit=bool((unsigned(said.get(RuleAttr.REG_RULE_FLAGS)) or 0) & NO_IR),
    )


def cells(messages: Messages) -> tuple[Bss, ...]:
    """What a scan heard, strongest first."""
    found = []
    for message in messages:
        said = table(table(message).get(Attr.BSS, b""))
        own, mhz = address(said.get(BssAttr.BSSID)), unsigned(said.get(BssAttr.FREQUENCY))
        if own is None or mhz is None:
            continue
        level = signed(said.get(BssAttr.SIGNAL_MBM))
        elements = said.get(BssAttr.INFORMATION_ELEMENTS, said.get(BssAttr.BEACON_IES, b""))
        found.append(
            Bss(
                address=own,
                mhz=mhz,
                dbm=None if level is None else level / 100,
                chains=_chains(said.get(BssAttr.CHAIN_SIGNAL, b"")),
                ssid=_ssid(elements),
                age_ms=unsigned(said.get(BssAttr.SEEN_MS_AGO)),
                associated=unsigned(said.get(BssAttr.STATUS)) == ASSOCIATED,
                answered=BssAttr.PRESP_DATA in said,
            )
        )
    return tuple(sorted(found, key=lambda b: (-(b.dbm or -999.0), b.address)))


def _chains(data: bytes) -> dict[str, int]:
    """Signal of each chain; the chain's number is the attribute's type."""
    levels = {str(chain): signed(value[:1]) for chain, value in walk(data)}
    # 0 and above is no signal a receiver can have taken: an antenna that was not listening.
    return {chain: dbm for chain, dbm in levels.items() if dbm is not None and dbm < 0}


def _ssid(elements: bytes) -> str | None:
    at = 0
    while at + 2 <= len(elements):
        sort, length = elements[at], elements[at + 1]
        if sort == SSID_ELEMENT:
            return _name(elements[at + 2 : at + 2 + length])
        at += 2 + length
    return None


def _name(raw: bytes | None) -> str | None:
    """A network's name; empty or all zeros is a hidden one."""
    return raw.decode("utf-8", "replace") if raw and raw.strip(b"\0") else None


def stations(messages: Messages) -> tuple[Station, ...]:
    """The other ends an interface has links to."""
    found = []
    for said in map(table, messages):
        own, info = address(said.get(Attr.MAC)), table(said.get(Attr.STA_INFO, b""))
        if own is not None:
            found.append(
                Station(
                    address=own,
                    dbm=signed(info.get(StaInfo.SIGNAL)),
                    chains=_chains(info.get(StaInfo.CHAIN_SIGNAL, b"")),
                    retries=unsigned(info.get(StaInfo.TX_RETRIES)),
                    failed=unsigned(info.get(StaInfo.TX_FAILED)),
                )
            )
    return tuple(found)


def noise(messages: Iterable[bytes]) -> dict[str, int]:
    """MHz -> noise floor in dBm, of the channels where the driver measured it."""
    found = {}
    for message in messages:
        said = table(table(message).get(Attr.SURVEY_INFO, b""))
        mhz, dbm = unsigned(said.get(SurveyInfo.FREQUENCY)), signed(said.get(SurveyInfo.NOISE))
        if mhz is not None and dbm is not None and dbm < 0:
            found[str(mhz)] = dbm
    return found
