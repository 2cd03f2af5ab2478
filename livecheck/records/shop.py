"""What a shop says of itself: for the pages a customer gets, and for what is proposed."""

from __future__ import annotations

from typing import Annotated

import msgspec

from livecheck.records.base import Record

Money = Annotated[float, msgspec.Meta(ge=0.0, le=1_000_000.0)]


class ShopFacts(Record, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Tables ``[shop]``, ``[prices]`` and ``[bench]`` of shop.toml in one."""

    name: str = ""
    address: str = ""
    currency: str = ""
    customer_language: str | None = None
    """What the pages for the customer are in, of ``languages.LANGUAGES``; None: ``language``."""
    language: str = "en"
    """What the technician reads: one of ``languages.LANGUAGES``."""
    hour: Money | None = None
    """Price of an hour at the bench; None: not told."""
    prices: dict[str, Money] = msgspec.field(default_factory=dict)
    """Kind of unit -> what the customer pays for it."""
    spares: tuple[str, ...] | None = None
    """Kinds of parts that lie ready as known-good spares; None: not told, so all may."""
    second_machine: bool | None = None
    """Whether a known-good machine of the kind stands ready; None: not told."""
    worth: Money | None = None
    """A repair that costs more is called not worth it; None: that is never said."""
    never: tuple[str, ...] = ()
    """Steps that are never done here, as ``note --cannot`` takes them, and ways never offered."""
