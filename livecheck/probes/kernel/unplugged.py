"""The bench's own stick, which may be pulled: what the kernel says of that is no fault."""

from __future__ import annotations

import bisect
import math
from collections.abc import Sequence
from typing import Final

from livecheck.kernel_log import scsi, usb
from livecheck.kernel_log.words import MEDIUM
from livecheck.probes.kernel.checks import DISKS, KernelCheck
from livecheck.records import Inventory, KernelEvent

AROUND_SECONDS: Final = 10.0
"""From a stick's last transfers to its file system's last word (3 s in a virtual laptop, the
rest assumed)."""

WHY: Final = "the bench's own stick was pulled, or its contact let go: both look the same"


def parted(
    events: Sequence[KernelEvent], found: Inventory
) -> tuple[list[KernelEvent], list[KernelEvent]]:
    """The events, and apart from them those of a stick that left its port.

    One that is still out has no component any more: of such only that it is gone.
    """
    own = {part.id for part in found.parts if part.bench_own}
    seen = (e.seconds for e in events if e.subsystem == "usb" and e.says == usb.WENT_AWAY)
    left = sorted(seen)

    def pulled(event: KernelEvent) -> bool:
        its_own = event.component in own and event.layer != MEDIUM
        out = event.component is None and event.says == scsi.GONE
        disk = event.subsystem in DISKS and event.serious and (its_own or out)
        near = bisect.bisect_left(left, event.seconds - AROUND_SECONDS)
        return disk and near < len(left) and left[near] <= event.seconds + AROUND_SECONDS

    rest = [event for event in events if not pulled(event)]
    return rest, [event for event in events if pulled(event)]


def told(check: KernelCheck) -> KernelCheck:
    """The check as it is told of these, and not judged."""
    return check._replace(at_least=math.inf, why_few=WHY)
