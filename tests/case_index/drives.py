"""Small invented shop drives."""

from __future__ import annotations

from pathlib import Path

import msgspec

from livecheck.case_index.summary import summarize
from livecheck.casefile import CaseFolder, Loaded, Shop
from livecheck.records import (
    Complaint,
    Inventory,
    Location,
    Machine,
    Proved,
    Side,
)
from tests import factories


def nobody(loaded: Loaded) -> Location:
    """A judge that must not be asked: the summaries say it all."""
    raise AssertionError(f"{loaded.case.id} was judged again")


def board(number: int, product: str = "TN14-MB") -> Machine:
    """An invented machine."""
    return Machine(
        vendor="Talnau",
        product="Wander 14",
        serial=f"TW-{number:04d}",
        board_vendor="Talnau",
        board_product=product,
        board_serial=f"BTW-{number:04d}",
    )


def add_case(
    shop: Shop,
    number: int,
    *,
    product: str = "TN14-MB",
    side: Side = Side.DEVICE,
    kind: str = "wireless-card",
    day: str = "2026-03-02",
    proved: str | None = None,
) -> CaseFolder:
    """One case with a run of the showcase, judged as told."""
    inventory = Inventory(machine=board(number, product))
    folder = shop.open_case(inventory, f"T-{number}", Complaint.PART_MISSING, f"{day}T09:00:00Z")
    whole = factories.port_and_battery().runs[0]
    run = msgspec.structs.replace(
        whole,
        number=folder.claim_run(),
        started=f"{day}T09:05:00Z",
        inventory=msgspec.structs.replace(whole.inventory, machine=board(number, product)),
    )
    folder.save_run(run)
    names_one = side in (Side.DEVICE, Side.CONTROLLER)
    location = msgspec.structs.replace(
        factories.location(),
        case=folder.path.name,
        side=side,
        component=f"{kind}:{number}" if names_one else None,
        unit=kind if names_one else None,
        candidates=(
            msgspec.structs.replace(
                factories.location().candidates[0],
                component=f"{kind}:{number}",
                kind=kind,
                name=f"{kind} {number}",
            ),
        ),
    )
    summary = summarize(location, [run], folder.run_numbers())
    folder.save_summary(summary)
    if proved:
        folder.add_proved(
            Proved(
                case=folder.path.name,
                recorded=f"{day}T12:00:00Z",
                component=proved,
                kind=proved,
                proved=True,
                fitted=summary.fitted,
            )
        )
    return folder


def shop_at(path: Path) -> Shop:
    """An empty shop drive."""
    path.mkdir(exist_ok=True)
    return Shop(path)
