"""Codes of input events (include/uapi/linux/input-event-codes.h)."""

from __future__ import annotations

from enum import IntEnum


class EventType(IntEnum):
    """What kind of event it is."""

    SYN = 0
    KEY = 1
    REL = 2
    ABS = 3


class Syn(IntEnum):
    """Ends of packets."""

    REPORT = 0
    DROPPED = 3


class Button(IntEnum):
    """Buttons of mice and pads."""

    LEFT = 0x110
    RIGHT = 0x111
    TOUCH = 0x14A


class Rel(IntEnum):
    """Relative axes."""

    X = 0
    Y = 1


class Abs(IntEnum):
    """Absolute axes, the multitouch ones with MT."""

    X = 0x00
    Y = 0x01
    MT_SLOT = 0x2F
    MT_X = 0x35
    MT_Y = 0x36
    MT_TRACKING_ID = 0x39
