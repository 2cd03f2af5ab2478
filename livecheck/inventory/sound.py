"""Sound cards, and the speaker and microphone behind the machine's own."""

from __future__ import annotations

import re

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
        number = re.fullmatch(r"card(\d+)", card.name)
        if not number:
            continue
        streams = [d.name for d in listed if re.fullmatch(rf"pcmC{number[1]}D\d+[pc]", d.name)]
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


def _picture_sound(host: Host, card: UdevDevice, streams: list[str]) -> bool:
    """True for a card all of whose streams lead to screens, as procfs names them."""
    folders = [f"/proc/asound/{card.name}/pcm{n.rpartition('D')[2]}" for n in streams]
    said = [hosts.text(host, f"{folder}/info") or "" for folder in folders]
    return bool(said) and all("HDMI" in words for words in said)
