"""Radios, interfaces, rules and what was heard, as plain records."""

from __future__ import annotations

import msgspec

from livecheck.records import Record


class RadioChannel(Record, frozen=True, kw_only=True):
    """One channel a radio can be tuned to."""

    mhz: int
    disabled: bool = False
    """By the regulatory rules in force, or by the card's own."""
    no_transmit: bool = False
    """Listening only, until something else was heard there."""
    radar: bool = False
    """Shared with radar: listened to for a minute before use."""
    max_dbm: float | None = None


class Band(Record, frozen=True, kw_only=True):
    """One frequency band of a radio."""

    name: str
    """``2.4 GHz``, ``5 GHz``, ``6 GHz``, ``60 GHz``, ``1 GHz``."""
    channels: tuple[RadioChannel, ...]
    modes: tuple[str, ...]
    """``legacy``, ``HT``, ``VHT``, ``HE``, ``EHT``: IEEE 802.11 physical layers."""


class Radio(Record, frozen=True, kw_only=True):
    """One radio (``phy0``)."""

    index: int
    name: str
    bands: tuple[Band, ...] = ()
    interface_types: tuple[int, ...] = ()
    antennas_rx: int | None = None
    antennas_tx: int | None = None
    """Bit masks of the antennas in use."""
    available_rx: int | None = None
    available_tx: int | None = None
    own_rules: bool = False
    """True: the card keeps its regulatory rules itself."""

    @property
    def frequencies(self) -> tuple[int, ...]:
        """MHz of every channel that may be listened to."""
        return tuple(c.mhz for b in self.bands for c in b.channels if not c.disabled)


class Interface(Record, frozen=True, kw_only=True):
    """One network interface of a radio."""

    index: int
    name: str
    radio: int
    type: int
    """``nl80211_iftype``; 2: station."""
    address: str | None = None
    mhz: int | None = None
    ssid: str | None = None


class FrequencyRule(Record, frozen=True, kw_only=True):
    """One frequency range of a country's rules."""

    begin_mhz: float
    end_mhz: float
    bandwidth_mhz: float
    max_dbm: float | None
    no_transmit: bool = False


class Regulatory(Record, frozen=True, kw_only=True):
    """The rules in force; ``00`` is the world's common denominator."""

    country: str
    radio: int | None = None
    """Index of the radio that keeps rules of its own; None: the kernel's for all others."""
    rules: tuple[FrequencyRule, ...] = ()


class Bss(Record, frozen=True, kw_only=True):
    """One access point or cell that was heard."""

    address: str
    mhz: int
    dbm: float | None = None
    chains: dict[str, int] = msgspec.field(default_factory=dict)
    """Antenna chain -> signal in dBm, where the driver tells them apart."""
    ssid: str | None = None
    """None: hidden."""
    age_ms: int | None = None
    associated: bool = False
    answered: bool = False
    """True: it answered a probe request, so what the card sends is heard too."""


class Station(Record, frozen=True, kw_only=True):
    """The other end of a link."""

    address: str
    dbm: int | None = None
    chains: dict[str, int] = msgspec.field(default_factory=dict)
    retries: int | None = None
    failed: int | None = None


class ScanResult(Record, frozen=True, kw_only=True):
    """What came of one scan."""

    cells: tuple[Bss, ...] = ()
    noise: dict[str, int] = msgspec.field(default_factory=dict)
    """MHz -> noise floor in dBm, where the driver measures it."""
    trouble: str | None = None
    """Why there was no whole scan, as words."""
    came_up: bool | None = None
    """Whether the interface could be switched on; None: it was on already."""
    seconds: float = 0.0
