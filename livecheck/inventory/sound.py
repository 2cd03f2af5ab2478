"""Sound cards, and the speaker and microphone behind the machine's own."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from livecheck import host as hosts
from livecheck.host import Host, UdevDevice
from livecheck.inventory.tree import Contribution, Seen, device_of
from livecheck.records import Part, Place, Value


def find(host: Host, seen: Seen) -> Contribution:
    """Sound cards; speaker and microphone are the parts that hang on the machine's own."""
    listed = host.udev("sound")
    places: dict[str, Place] = {}
    parts: dict[str, Part] = {}
    devices = []
    for card in listed:
        if not _is_card(card):
            continue
        streams = _streams(card, listed)
        values: dict[str, Value] = {
            "id": hosts.text(host, f"{card.path}/id"),
            "playback": any(name.endswith("p") for name in streams),
            "capture": any(name.endswith("c") for name in streams),
        }
        owner = seen.owner(card.path)
        devices.append(device_of(card, owner, None, None, values))
        if "/usb" in card.path:
            continue
        for kind, has in (("speaker", values["playback"]), ("microphone", values["capture"])):
            # The first card with such a stream leads to the built-in one; HDMI cards have no other.
            place = Place(id=f"internal:{kind}", kind="internal-connector",
                          name=f"{kind} connector", controller=seen.controller_of(owner),
                          expects=kind)  # fmt: skip
            if has and place.id not in places and not _picture_sound(host, card, streams):
                places[place.id] = place
                parts[kind] = Part(id=f"{kind}@{place.id}", kind=kind, name=kind, place=place.id,
                                   sound_card=card.name)  # fmt: skip
    return Contribution(
        places=tuple(places.values()), parts=tuple(parts.values()), devices=tuple(devices)
    )


def plays(host: Host) -> Iterator[str]:
    """Kernel names of the cards that play, those that lead to screens alone last."""
    listed = host.udev("sound")
    cards = [card for card in listed if _is_card(card)]
    playing = [c for c in cards if any(name.endswith("p") for name in _streams(c, listed))]
    by_screen = [_picture_sound(host, card, _streams(card, listed)) for card in playing]
    for wanted in (False, True):
        yield from (c.name for c, at in zip(playing, by_screen, strict=True) if at is wanted)


def _is_card(device: UdevDevice) -> bool:
    return re.fullmatch(r"card\d+", device.name) is not None


def _streams(card: UdevDevice, listed: Sequence[UdevDevice]) -> list[str]:
    number = card.name.removeprefix("card")
    return [d.name for d in listed if re.fullmatch(rf"pcmC{number}D\d+[pc]", d.name)]


def _picture_sound(host: Host, card: UdevDevice, streams: list[str]) -> bool:
    """True for a card all of whose streams lead to screens, as procfs names them."""
    folders = [f"/proc/asound/{card.name}/pcm{n.rpartition('D')[2]}" for n in streams]
    said = [hosts.text(host, f"{folder}/info") or "" for folder in folders]
    return bool(said) and all("HDMI" in words for words in said)
