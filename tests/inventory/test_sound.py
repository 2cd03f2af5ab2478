"""Sound cards, speaker and microphone from the kernel's attributes."""

from __future__ import annotations

from livecheck.inventory.sound import find
from livecheck.inventory.tree import Seen
from tests.inventory.fake_host import FakeHost, device

LISTED = [
    device("sound", "card0"),
    device("sound", "controlC0"),
    device("sound", "pcmC0D0p"),
    device("sound", "pcmC0D0c"),
    device("sound", "card1"),
    device("sound", "pcmC1D3p"),
]


def test_speaker_and_microphone_hang_on_the_card_that_is_not_for_screens() -> None:
    """A card all of whose streams procfs names HDMI leads to screens."""
    host = FakeHost({"/proc/asound/card1/pcm3p/info": "id: HDMI 0\n"}, LISTED)
    found = find(host, Seen())
    assert {d.name for d in found.devices} == {"card0", "card1"}
    assert {p.kind: p.sound_card for p in found.parts} == {
        "speaker": "card0",
        "microphone": "card0",
    }
