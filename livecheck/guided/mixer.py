"""A sound card's mixer: opened to a medium level for a check, put back afterwards.

The simple mixer interface of libasound (alsa/mixer.h).
"""

from __future__ import annotations

import contextlib
import ctypes
from collections.abc import Iterator
from typing import Any, Final

OUTPUTS: Final = ("Master", "Speaker", "PCM", "Front", "Bass Speaker")
INPUTS: Final = ("Capture", "Mic", "Internal Mic", "Dmic0", "Mic Boost", "Internal Mic Boost")
LEVEL: Final = 0.7
"""Share of the range; boosts are left alone, they overdrive a microphone near a speaker."""
CHANNELS: Final = range(2)


@contextlib.contextmanager
def opened(library: Any, card: str) -> Iterator[None]:
    """Known controls open meanwhile; a card without a mixer is taken as it is."""
    mixer = ctypes.c_void_p()
    _types(library)
    if library.snd_mixer_open(ctypes.byref(mixer), 0) < 0:
        yield
        return
    try:
        before = _open_up(library, mixer, card)
        try:
            yield
        finally:
            for control, way, switch, levels in before:
                _set(library, control, way, switch, levels)
    finally:
        library.snd_mixer_close(mixer)


_Kept = tuple[ctypes.c_void_p, str, list[int] | None, list[int] | None]


def _open_up(library: Any, mixer: ctypes.c_void_p, card: str) -> list[_Kept]:
    name = card.encode()
    if (
        library.snd_mixer_attach(mixer, name) < 0
        or library.snd_mixer_selem_register(mixer, None, None) < 0
        or library.snd_mixer_load(mixer) < 0
    ):
        return []
    before: list[_Kept] = []
    control = library.snd_mixer_first_elem(mixer)
    while control:
        element = ctypes.c_void_p(control)
        title = library.snd_mixer_selem_get_name(element).decode("utf-8", "replace")
        for way, names in (("playback", OUTPUTS), ("capture", INPUTS)):
            if title in names and "Boost" not in title:
                switch, levels = _get(library, element, way)
                before.append((element, way, switch, levels))
                _raise(library, element, way, switch, levels)
        control = library.snd_mixer_elem_next(element)
    return before


def _get(
    library: Any, control: ctypes.c_void_p, way: str
) -> tuple[list[int] | None, list[int] | None]:
    """The control's switch and volume by channel; None for what it does not have."""
    switch = levels = None
    if getattr(library, f"snd_mixer_selem_has_{way}_switch")(control):
        switch = [_one(library, f"get_{way}_switch", control, n, ctypes.c_int) for n in CHANNELS]
    if getattr(library, f"snd_mixer_selem_has_{way}_volume")(control):
        levels = [_one(library, f"get_{way}_volume", control, n, ctypes.c_long) for n in CHANNELS]
    return switch, levels


def _one(library: Any, name: str, control: ctypes.c_void_p, channel: int, kind: Any) -> int:
    value = kind()
    getattr(library, f"snd_mixer_selem_{name}")(control, channel, ctypes.byref(value))
    return int(value.value)


def _raise(
    library: Any, control: ctypes.c_void_p, way: str, switch: list[int] | None,
    levels: list[int] | None,
) -> None:  # fmt: skip
    least, most = ctypes.c_long(), ctypes.c_long()
    getattr(library, f"snd_mixer_selem_get_{way}_volume_range")(
        control, ctypes.byref(least), ctypes.byref(most)
    )
    level = round(least.value + LEVEL * (most.value - least.value))
    _set(library, control, way, [1, 1] if switch else None, [level, level] if levels else None)


def _set(
    library: Any, control: ctypes.c_void_p, way: str, switch: list[int] | None,
    levels: list[int] | None,
) -> None:  # fmt: skip
    for channel in CHANNELS:
        if switch is not None:
            function = getattr(library, f"snd_mixer_selem_set_{way}_switch")
            function(control, channel, switch[channel])
        if levels is not None:
            function = getattr(library, f"snd_mixer_selem_set_{way}_volume")
            function(control, channel, ctypes.c_long(levels[channel]))


def _types(library: Any) -> None:
    pointer = ctypes.c_void_p
    for name in ("snd_mixer_first_elem", "snd_mixer_elem_next"):
        function = getattr(library, name)
        function.restype, function.argtypes = pointer, [pointer]
    library.snd_mixer_selem_get_name.restype = ctypes.c_char_p
    library.snd_mixer_attach.argtypes = [pointer, ctypes.c_char_p]
    library.snd_mixer_selem_register.argtypes = [pointer, pointer, pointer]
    library.snd_mixer_load.argtypes = [pointer]
    library.snd_mixer_close.argtypes = [pointer]
