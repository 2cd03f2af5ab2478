"""Whether nobody can see the first screen: then the flow without one takes over."""

from __future__ import annotations

from typing import Final

from livecheck.console.replies import Looked
from livecheck.host import text
from livecheck.live_host import LiveHost
from livecheck.records import Complaint

DISPLAYS: Final = "/sys/class/drm"
SETTLED_SECONDS: Final = 15.0
"""Graphics drivers have told their connectors by then (assumed)."""
NO_KEY_SECONDS: Final = 60.0


def why(seconds: float, looked: Looked | None, screens: tuple[str, ...]) -> str | None:
    """Why the flow is to be spoken (a text's name); None: there is no reason.

    ``seconds`` since the first screen, without a key; ``screens`` what each connector says of
    a display.
    """
    if screens and set(screens) == {"disconnected"} and seconds >= SETTLED_SECONDS:
        return "no-display"
    if looked is None or seconds < NO_KEY_SECONDS:
        return None
    known = looked.known
    dark = known.complaint is Complaint.NO_PICTURE if known is not None else bool(looked.nameless)
    return "no-key" if dark else None


def screens() -> tuple[str, ...]:
    """What the connectors of all display devices say (Linux, ``Documentation/gpu/drm-kms.rst``:
    ``connected``, ``disconnected``, ``unknown``); empty where no driver tells."""
    host = LiveHost()
    names = (name for name in host.names(DISPLAYS) if "-" in name)
    found = (text(host, f"{DISPLAYS}/{name}/status") for name in names)
    return tuple(status for status in found if status is not None)
