"""Looks at panels' links for guided checks, each counted from the look before."""

from __future__ import annotations

from livecheck.displayport import LinkWatch
from livecheck.guided.sights import ScreenLinkSeen
from livecheck.host import Host


class ScreenLinks:
    """The links that are watched, by the kernel's name of their channel."""

    def __init__(self, host: Host) -> None:
        self._host = host
        self._watched: dict[str, LinkWatch] = {}

    def look(self, channel: str, now: float) -> ScreenLinkSeen:
        """One look at a link."""
        if channel not in self._watched:
            self._watched[channel] = LinkWatch(self._host, channel)
        screen = self._watched[channel]
        before = screen.seconds
        seen = screen.look()
        if seen is None:
            # A panel that never answered is switched off, or not ours to ask.
            silent = not screen.screens
            return ScreenLinkSeen(seconds=now, unseen=silent, trouble="it does not answer")
        return ScreenLinkSeen(
            seconds=now,
            errors=screen.new,
            allowed=screen.allowed_in(screen.seconds - before),
            trouble=(seen.troubles or ("",))[0],
            unseen=bool(seen.refreshing) or seen.troubles is None,
        )
