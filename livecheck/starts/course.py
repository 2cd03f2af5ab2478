"""Restarting the machine as planned, and what each start finds. Only on request.

``explained`` says what will happen before ``begin`` and ``order`` do it. A warm start is
``systemctl reboot``; for a cold one ``rtcwake -m off`` (util-linux, rtcwake(8)) sets the clock's
alarm and switches off.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import msgspec

from livecheck import inventory, sleep_test
from livecheck.host import Host, Unreadable, text
from livecheck.plan import Plan
from livecheck.recorder import aftermath
from livecheck.records import Knowledge
from livecheck.starts import notes, planned
from livecheck.starts.planned import Arrival, StartKind, StartsPlan

STICK: Final = "/run/livecheck/shop-drive"
"""Written at each start of the stick's own system."""
EFI: Final = "/sys/firmware/efi/efivars"
GLOBAL: Final = "8be4df61-93ca-11d2-aa0d-00e098032b8c"
"""EFI_GLOBAL_VARIABLE (UEFI 2.10, 3.3): BootCurrent, and BootOrder, 16-bit numbers behind four
bytes of attributes (Linux Documentation/filesystems/efivarfs.rst)."""
ALARM: Final = "/sys/class/rtc/rtc0"
SETTLE_SECONDS: Final = 20.0
"""After livecheck's first word, for slow devices (assumed)."""
GOING_SECONDS: Final = 300.0
"""Within which the machine goes down."""
CAUTIONS: Final = ("data",)
STAYS_ON: Final = "the machine did not go down (switch it off and on by hand: it goes on then)"


class CannotStart(Exception):
    """The machine cannot be started again and again from here; says what to try."""


def ready(host: Host, cold: int) -> None:
    """Raises CannotStart where it must not, or cannot, be restarted from here."""
    if text(host, STICK) is None:
        raise CannotStart(
            "only the stick's own system restarts a machine (start it from the stick)"
        )
    if not host.facts().as_root:
        raise CannotStart("only root may restart the machine (run as root)")
    if first_in_order(host) is False:
        raise CannotStart(
            "this machine would start something else by itself: put the stick first in its setup, "
            "and start it anew"
        )
    if cold and "wakealarm" not in host.names(ALARM):
        raise CannotStart(
            "its clock cannot switch it on: switch it off and on by hand, and tell the count "
            "(livecheck starts --failed 2 --of 10)"
        )


def first_in_order(host: Host) -> bool | None:
    """Whether what was started now is what the firmware starts by itself; None: not told."""
    try:
        current = host.read(f"{EFI}/BootCurrent-{GLOBAL}")[4:6]
        order = host.read(f"{EFI}/BootOrder-{GLOBAL}")[4:6]
    except Unreadable:
        return None
    return current == order if len(current) == len(order) == 2 else None


def explained(plan: StartsPlan, tables: Knowledge) -> list[str]:
    """What will happen, and what to heed."""
    minutes = f"{planned.LATEST_SECONDS / 60:.0f}"
    return [
        f"The machine restarts {plan.warm} time(s) warm and {plan.cold} time(s) cold, by itself, "
        f"and counts which starts fail; cold ones by its clock's alarm, {plan.alarm} s after it "
        "went off. Nothing on its own drives is touched. Leave the stick in, the adapter too, and "
        "see in its setup that the stick is started first: else the installed system starts. "
        f"Where a start hangs or does not come, wait {minutes} minutes and switch it on by hand: "
        "the count goes on. A key stops it between two starts.",
        *(tables.cautions[name].text for name in CAUTIONS if name in tables.cautions),
    ]


def begin(host: Host, cases: Path, asked: StartsPlan, plan: Plan) -> tuple[Path, StartsPlan]:
    """The plan on the drive, with the parts that are fitted now. Raises OSError."""
    parts = inventory.take(host).parts
    begun = msgspec.structs.replace(
        asked,
        machine=aftermath.machine(host),
        complaint=plan.complaint,
        ticket=plan.ticket,
        case=plan.case,
        parts=tuple(part for part in parts if part.kind in sleep_test.STAY),
        boots=(aftermath.boot(host),),
    )
    return notes.new(cases, begun), begun


def order(host: Host, path: Path, plan: StartsPlan) -> None:
    """The next start. Returns where the machine did not go down. Raises OSError, CannotStart."""
    kind = planned.following(plan)
    if kind is None:
        return
    notes.save(path, planned.ordered(plan, kind, _now(host)))
    words: tuple[str, ...] = ("systemctl", "reboot")
    if kind is StartKind.COLD:
        words = ("rtcwake", "-m", "off", "-s", str(plan.alarm))
    result = host.command(words, GOING_SECONDS)
    if result.trouble is not None or result.status != 0:
        said = result.trouble or result.err.decode("utf-8", "replace").strip()
        raise CannotStart(f"the machine would not go down: {said} (do it by hand)")
    host.wait(GOING_SECONDS)


def arrive(host: Host, cases: Path, path: Path, plan: StartsPlan) -> StartsPlan:
    """What this start makes of the plan: noted at once, and again when its parts are known.

    Raises OSError.
    """
    after = aftermath.look(host)
    here = Arrival(
        boot=after.boot,
        since=after.up_since,
        seconds=0.0 if after.up_since is None else _now(host) - after.up_since,
        notes=notes.mounted(cases, plan.machine),
    )
    begun = planned.arrived(plan, here)
    notes.save(path, begun)
    if planned.waits(begun):
        host.wait(SETTLE_SECONDS)
        left = {part.id for part in inventory.take(host).parts}
        gone = [part.id for part in begun.parts if part.id not in left]
        begun = planned.counted(begun, gone, sleep_test.serious(sleep_test.log(host)))
        notes.save(path, begun)
    return begun


def _now(host: Host) -> float:
    return datetime.fromisoformat(host.facts().now).astimezone(UTC).timestamp()
