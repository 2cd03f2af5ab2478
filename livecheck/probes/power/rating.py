"""Whether the adapter can give what the machine asks for: by USB-PD, else by the firmware."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from livecheck.host import Unreadable
from livecheck.inventory.power_state import SupplyState
from livecheck.inventory.usb_power import Delivery, deliveries
from livecheck.probes import Context
from livecheck.records import Device, Outcome, Reading

CHECK = "power.adapter-rating"


def rating(
    context: Context, supplies: Sequence[tuple[Device, SupplyState]], drain: float
) -> Iterator[Reading]:
    """One reading a USB-C adapter that tells its capabilities, else one a jack that tells some.

    ``drain``: watts that the battery gives while power comes in.
    """
    try:
        told = deliveries(context.host)
    except Unreadable:
        told = ()
    fed = [(device, supply) for device, supply in supplies if supply.online]
    at = _at(fed)
    slack = context.knowledge.checks[CHECK].limits["slack_share"]
    for delivery in told:
        yield judged(delivery, at, slack)
    if told:
        return
    for device, supply in fed:
        if supply.max_volts and supply.max_amperes:
            watts = supply.max_volts * supply.max_amperes
            # Of a UCSI port current_now is what the machine asked for (Linux, ucsi/psy.c).
            asked = (supply.amperes or 0.0) >= supply.max_amperes * (1 - slack)
            short = asked and drain >= watts * slack
            yield Reading(
                check=CHECK,
                at=device.component or "machine",
                outcome=Outcome.FAILED if short else Outcome.NOT_JUDGED,
                value=round(watts, 1),
                unit="W",
                source=device.path,
                says=f"The adapter tells {supply.max_volts:.1f} V and {supply.max_amperes:.2f} A"
                + (
                    f"; the machine asks for all of it, and takes {drain:.0f} W more from the "
                    "battery."
                    if short
                    else "."
                ),
                why_not=None
                if short
                else "the machine does not tell what it asks for (compare with its label)",
                device=device.name,
            )


def judged(delivery: Delivery, at: str, slack: float) -> Reading:
    """One USB-C adapter against what its port asks for."""
    offered, wanted = delivery.rating, delivery.wanted
    volts = ", ".join(f"{v:g} V" for v in sorted({o.volts for o in delivery.offers}))
    says = "The adapter offers "
    says += f"{offered:.0f} W at most ({volts})" if offered is not None else volts
    outcome, why = Outcome.PASSED, None
    if wanted is None or offered is None:
        outcome, why = Outcome.NOT_JUDGED, "the port does not tell what the machine asks for"
        says += "."
    else:
        weak = offered < wanted * (1 - slack)
        outcome = Outcome.FAILED if weak else Outcome.PASSED
        says += f"; the machine asks for up to {wanted:.0f} W."
    return Reading(
        check=CHECK,
        at=at,
        outcome=outcome,
        value=None if offered is None else round(offered, 1),
        unit="W",
        source=f"USB Power Delivery, {delivery.port}",
        says=says,
        why_not=why,
        details=(f"power operation mode: {delivery.mode}",) if delivery.mode else (),
        device=delivery.port,
    )


def _at(fed: Sequence[tuple[Device, SupplyState]]) -> str:
    """The one jack that is fed over USB; the machine when it cannot be told which."""
    usb = [device.component for device, supply in fed if supply.kind == "USB"]
    return usb[0] if len(usb) == 1 and usb[0] else "machine"
