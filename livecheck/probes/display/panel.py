"""The panel inside the machine: how bright it is set, and how its link does."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from livecheck.displayport import LinkWatch, Screen
from livecheck.probes import Context, Progress, Yield
from livecheck.probes.display import edid
from livecheck.probes.finding import Finding, finding, unjudged
from livecheck.records import BacklightFacts, Device, NotTested, Part

ANSWERS: Final = "display.link-answers"
STATUS: Final = "display.link-status"
ERRORS: Final = "display.link-errors"
BRIGHTNESS: Final = "display.brightness"

SECONDS: Final = {"quick": 5.0, "full": 60.0, "soak": 60.0}
"""A link is watched for so long."""
STEP: Final = 0.5
ALWAYS_REFRESHED: Final = "the panel showed its own memory's picture all the time, link off"


def probe(context: Context) -> Iterator[Yield]:
    """Brightness, EDID and link of every panel."""
    panels = [part for part in context.inventory.parts if part.kind == "panel"]
    if not panels:
        yield NotTested(what="Screen", why="the kernel tells of no panel inside this machine")
    for part in panels:
        for light in context.inventory.devices:
            if light.subsystem == "backlight" and light.component == part.id:
                source = f"{light.path}/brightness"
                yield _brightness(light, context).reading(part.id, source, light.name)
        yield from edid.probe_panel(context, part)
        channel = channel_of(context, part)
        if channel is None:
            why = "it is on no DisplayPort channel of this kernel (LVDS and DSI tell nothing)"
            yield NotTested(what=f"Link of {part.name}", why=why)
        else:
            yield from _link(context, part, channel)


def channel_of(context: Context, part: Part) -> Device | None:
    """The AUX channel of a panel."""
    return next(
        (d for d in context.inventory.devices
         if d.subsystem == "drm_dp_aux_dev" and d.component == part.id),
        None,
    )  # fmt: skip


def _brightness(light: Device, context: Context) -> Finding:
    facts = light.facts
    if not isinstance(facts, BacklightFacts) or facts.level is None or not facts.max_level:
        return unjudged(BRIGHTNESS, "the backlight does not tell how bright it is set")
    share = round(100 * facts.level / facts.max_level)
    if facts.off:
        return finding(BRIGHTNESS, True, 0, "The backlight is switched off.", "percent")
    least = context.knowledge.checks[BRIGHTNESS].limits["least_percent"]
    return finding(BRIGHTNESS, share < least, share,
                   f"The backlight is set to {share} % ({facts.type or 'unknown'} control).",
                   "percent")  # fmt: skip


def _link(context: Context, part: Part, channel: Device) -> Iterator[Yield]:
    whole = SECONDS[context.depth]
    watch = LinkWatch(context.host, channel.name)
    watch.look()
    for number in range(1, round(whole / STEP) + 1):
        context.host.wait(STEP)
        watch.look()
        done = number * STEP
        says = f"watching the link of {part.name}"
        yield Progress(says=says, done=done / whole, seconds_left=whole - done)
    source = f"/dev/{channel.name}, looked at {len(watch.screens) + watch.unanswered} times"
    rate = context.knowledge.checks[ERRORS].limits["bit_error_rate"]
    for found in (answers(watch), status(watch), errors(watch, rate)):
        yield found.reading(part.id, source, channel.name)


def answers(watch: LinkWatch) -> Finding:
    """Whether the screen answered each time it was asked."""
    asked = len(watch.screens) + watch.unanswered
    if not watch.screens:
        why = "the panel never answered: it is switched off, or this needs root"
        return unjudged(ANSWERS, why)
    says = f"The panel answered {len(watch.screens)} of {asked} times over its side channel."
    return finding(ANSWERS, watch.unanswered > 0, watch.unanswered, says, "reads")


def status(watch: LinkWatch) -> Finding:
    """Whether all lanes held, in every look that can tell."""
    told = [s for s in watch.screens if s.awake is not False and s.troubles is not None]
    if not told:
        return unjudged(STATUS, "the panel does not tell of its lanes, or sleeps")
    live = [s for s in told if not s.refreshing]
    if not live:
        return unjudged(STATUS, ALWAYS_REFRESHED)
    bad = [s for s in live if s.troubles]
    runs = describe(live[-1])
    if not bad:
        return finding(STATUS, False, 0, f"Every lane of the panel's link holds: {runs}.", "looks")
    lost = tuple(dict.fromkeys(trouble for s in bad for trouble in s.troubles or ()))
    says = f"The panel's link ({runs}) was not whole in {len(bad)} of {len(live)} looks: {lost[0]}."
    return finding(STATUS, True, len(bad), says, "looks").with_details(lost)


def errors(watch: LinkWatch, rate: float) -> Finding:
    """Symbol errors against what a sound link may have in that time."""
    if watch.screens and all(s.refreshing for s in watch.screens):
        return unjudged(ERRORS, ALWAYS_REFRESHED)
    too_many = watch.too_many(rate)
    if too_many is None:
        return unjudged(ERRORS, "the panel does not count errors of its link")
    lanes = tuple(f"lane {n}: {count} errors" for n, count in enumerate(watch.lanes))
    says = f"{watch.errors} symbol errors on the panel's link in {watch.seconds:.0f} s."
    return finding(ERRORS, too_many, watch.errors, says, "errors").with_details(lanes)


def describe(screen: Screen) -> str:
    """``2 of 4 lanes at 2.7 Gbit/s``."""
    many = f" of {screen.max_lanes}" if screen.max_lanes not in (None, screen.lanes) else ""
    speed = f" at {screen.gbps:g} Gbit/s" if screen.gbps is not None else ""
    return f"{screen.lanes}{many} lane{'' if screen.lanes == 1 else 's'}{speed}"
