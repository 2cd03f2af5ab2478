"""What a step is called, on every screen and page: by what is done. Pure."""

from __future__ import annotations

from livecheck.diagnosis.steps.actions import Action
from livecheck.names import Names
from livecheck.records import Knowledge, NextStep
from livecheck.topology.ids import FIRMWARE
from livecheck.wording import text


def sort(step: NextStep, tables: Knowledge) -> str:
    """What sort of work it is: a look is no measurement, a drive's own firmware not the board's.

    ``by-hand``, ``update``, or the action itself.
    """
    metered = (c.startswith("bench.") and tables.checks[c].unit is not None for c in step.checks)
    if step.action == Action.MEASURE and not any(metered):
        return "by-hand"
    if step.action == Action.REFLASH and step.target != FIRMWARE:
        return "update"
    return step.action


def action(step: NextStep, tables: Knowledge) -> str:
    """What is done, in few words."""
    return text(f"step.{sort(step, tables).replace(' ', '-')}")


def target(step: NextStep, names: Names) -> str:
    """What it is done to; what is soldered is replaced with its board."""
    found = names.of(step.target)
    if step.action == Action.REPLACE and found.soldered:
        return text("step.with-soldered", name=found.name)
    if step.action == Action.RESEAT and found.kind in ("panel", "panel-connector"):
        return text("step.both-ends", name=found.label)
    return names.target(step.target)


def named(step: NextStep, names: Names, tables: Knowledge) -> str:
    """A step in few words."""
    return f"{action(step, tables)}: {target(step, names)}"
