"""Numbers of nl80211 (include/uapi/linux/nl80211.h), named as there without the prefix."""

from __future__ import annotations

from enum import IntEnum
from typing import Final


class Attr(IntEnum):
    """enum nl80211_attrs."""

    WIPHY = 1
    WIPHY_NAME = 2
    IFINDEX = 3
    IFNAME = 4
    IFTYPE = 5
    MAC = 6
    STA_INFO = 21
    WIPHY_BANDS = 22
    SUPPORTED_IFTYPES = 32
    REG_ALPHA2 = 33
    REG_RULES = 34
    WIPHY_FREQ = 38
    SCAN_FREQUENCIES = 44
    SCAN_SSIDS = 45
    BSS = 47
    SSID = 52
    SURVEY_INFO = 84
    WIPHY_ANTENNA_TX = 105
    WIPHY_ANTENNA_RX = 106
    WIPHY_ANTENNA_AVAIL_TX = 113
    WIPHY_ANTENNA_AVAIL_RX = 114
    SPLIT_WIPHY_DUMP = 174
    WIPHY_SELF_MANAGED_REG = 216


class BandAttr(IntEnum):
    """enum nl80211_band_attr."""

    FREQS = 1
    HT_CAPA = 4
    VHT_CAPA = 8
    IFTYPE_DATA = 9


class BandIftypeAttr(IntEnum):
    """enum nl80211_band_iftype_attr."""

    HE_CAP_PHY = 3
    EHT_CAP_PHY = 9


class FrequencyAttr(IntEnum):
    """enum nl80211_frequency_attr."""

    FREQ = 1
    DISABLED = 2
    NO_IR = 3
    RADAR = 5
    MAX_TX_POWER = 6


class BssAttr(IntEnum):
    """enum nl80211_bss."""

    BSSID = 1
    FREQUENCY = 2
    INFORMATION_ELEMENTS = 6
    SIGNAL_MBM = 7
    STATUS = 9
    SEEN_MS_AGO = 10
    BEACON_IES = 11
    PRESP_DATA = 14
    CHAIN_SIGNAL = 19


class RuleAttr(IntEnum):
    """enum nl80211_reg_rule_attr (named NL80211_ATTR_… there)."""

    REG_RULE_FLAGS = 1
    FREQ_RANGE_START = 2
    FREQ_RANGE_END = 3
    FREQ_RANGE_MAX_BW = 4
    POWER_RULE_MAX_EIRP = 6


class StaInfo(IntEnum):
    """enum nl80211_sta_info."""

    SIGNAL = 7
    TX_RETRIES = 11
    TX_FAILED = 12
    CHAIN_SIGNAL = 25


class SurveyInfo(IntEnum):
    """enum nl80211_survey_info."""

    FREQUENCY = 1
    NOISE = 2


BANDS: Final = {0: "2.4 GHz", 1: "5 GHz", 2: "60 GHz", 3: "6 GHz", 4: "1 GHz"}
"""enum nl80211_band."""
STATION: Final = 2
"""NL80211_IFTYPE_STATION."""
NO_IR: Final = 1 << 7
"""NL80211_RRF_NO_IR."""
ASSOCIATED: Final = 1
"""NL80211_BSS_STATUS_ASSOCIATED."""
SSID_ELEMENT: Final = 0
"""IEEE 802.11, element id of the network's name."""
