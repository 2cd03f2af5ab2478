"""What only a stick's own start knows: the shop drive that is looked for, and the screen."""

from __future__ import annotations

import os
import re
from typing import Final

WAIT_FOR: Final = "LIVECHECK_WAIT_FOR"
"""Environment: a file that is there once a shop drive was looked for (image-build/overlay)."""
WAITED_SECONDS: Final = 60.0
"""A stick that takes longer is mounted whenever it answers, and noticed then."""
KERNEL_CONSOLE: Final = re.compile(r"/dev/tty[0-9]+")
"""console(4)."""
LOOKED_EVERY_SECONDS: Final = 0.2
SAID_AFTER_SECONDS: Final = 2.0


def told(file: str) -> str | None:
    """What the stick's own start wrote into a file; None: nothing yet."""
    # Only here: the first screen comes before what asks the machine is read.
    from livecheck.host import text
    from livecheck.live_host import LiveHost

    return text(LiveHost(), file)


def looked_for() -> bool:
    """True once a shop drive was looked for, and where nothing looks for one."""
    file = os.environ.get(WAIT_FOR)
    return not file or told(file) is not None


def on_own_screen(descriptor: int = 0) -> bool:
    """Whether a stick's console stands on this machine's own screen: what a serial line shows
    needs no display here."""
    try:
        own = KERNEL_CONSOLE.fullmatch(os.ttyname(descriptor)) is not None
    except OSError:
        return False
    return own and WAIT_FOR in os.environ
