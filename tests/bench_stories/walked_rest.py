"""What walked in at a counter: screens, hands, sockets and systems, written before it was played.

What is wanted after each step is what a technician of twenty years would do, and never do.
Common practice, no source; minutes are the most such a step may take at a bench: assumed.
"""

from __future__ import annotations

from typing import Final

from tests.bench_stories import fresh_beds, odd_beds
from tests.bench_stories import walked_beds as beds
from tests.bench_stories.fresh import NO_BOARD, NOTHING
from tests.bench_stories.habits import Did, Habit, run
from tests.bench_stories.walked_in import NO_ORDER
from tests.testbeds import stories

SCREENS: Final = (
    Habit(
        name="picture flickers with the lid",
        truth="the hinge broke the screen's lead",
        does=(
            Did(words=run("wrong-picture", "--told", "when=at some lid angles"), bed=beds.screen,
                hand={"lid-picture": False, "outside-picture": True},
                top=("panel-connector", "contact"), never=(*NO_BOARD, "panel"),
                steps=("reseat", "inspect inside", "exchange lead"), finds=("CAUTION",),
                within=45, lacks=NO_ORDER, customer_lacks=("panel is broken",)),
            Did(words=run("wrong-picture", "--reseated", "panel:eDP-1"), bed=beds.screen,
                hand={"lid-picture": False, "outside-picture": True},
                top=("panel-connector", "contact"), never=NO_BOARD,
                lacks=("Next: reseat", "Next: replace: mainboard")),
        ),
    ),
    Habit(
        name="faint picture under a torch",
        truth="the panel's backlight is out",
        does=(
            Did(words=run("wrong-picture"), bed=beds.screen,
                hand={"torch": False, "outside-picture": True, "lid-picture": True},
                top=("panel", "panel-connector", "contact", "backlight-inverter"),
                never=NO_BOARD, finds=("CAUTION",),
                steps=("reseat", "swap with known-good", "inspect inside", "replace"),
                lacks=("Next: replace: mainboard", "Next: longer soak")),
        ),
    ),
    Habit(
        name="coloured squares on every screen",
        truth="the graphics on the board",
        does=(
            Did(words=run("wrong-picture", "--told", "when=after some minutes"), bed=beds.screen,
                hand={"display": False, "outside-picture": False, "lid-picture": True},
                top=("display-controller", "mainboard", "memory-module", "cooling", "software",
                     "processor"),
                never=("panel",), lacks=("Next: replace: panel", "known-good: panel",
                                         "Next: reseat: panel"),
                customer_lacks=("panel is broken",)),
        ),
    ),
    Habit(
        name="touches that nobody made",
        truth="the customer's cheap adapter disturbs the touchscreen",
        does=(
            Did(words=run("part-missing", "--told", "when=on the adapter", "--told",
                          "words=the pointer jumps by itself"),
                bed=beds.touches, hand={"touchscreen": False}, never=(*NO_BOARD, "panel"),
                lacks=NO_ORDER,
                steps=("swap with known-good", "take all power away", "external measurement",
                       "reseat", "inspect inside", "change a setting")),
            Did(words=run("part-missing", "--answer",
                          "adapter@jack:AC=known-good spare"),
                bed=beds.touches, hand={"touchscreen": True}, never=(*NO_BOARD, "panel"),
                lacks=NO_ORDER),
        ),
    ),
)  # fmt: skip
HANDS: Final = (
    Habit(
        name="keys type by themselves after tea",
        truth="tea in the keyboard",
        does=(
            Did(words=run("part-missing", "--told", "after=a liquid", "--told",
                          "data=wanted, no copy"),
                bed=fresh_beds.hands, hand={"keyboard": False, "touchpad": True},
                top=("keyboard", "contact"), never=NO_BOARD, steps=("inspect inside",),
                finds=("CAUTION: Liquid was in it",), lacks=NO_ORDER, within=45),
            Did(words=run("part-missing", "--answer", "machine=looked inside"),
                bed=fresh_beds.hands, hand={"keyboard": False, "touchpad": True},
                top=("keyboard", "contact"), never=NO_BOARD,
                steps=("reseat", "clean contacts", "swap with known-good", "replace"),
                lacks=("Next: replace: mainboard", "Next: inspect inside")),
        ),
    ),
    Habit(
        name="touchpad stiff over an old battery",
        truth="the swollen battery presses it from below",
        does=(
            Did(words=run("part-missing", "--told",
                          "words=the touchpad does not click any more and stands out"),
                bed=beds.old_battery, hand={"touchpad": False, "keyboard": True},
                never=(*NO_BOARD, "touchpad"), finds=("swollen",), lacks=NO_ORDER, within=45,
                steps=("inspect inside", "reseat", "external measurement")),
        ),
    ),
    Habit(
        name="camera gone from the lid",
        truth="the camera's lead slipped off in the lid",
        does=(
            Did(words=run("part-missing", "--told", "words=the camera is not there any more"),
                bed=beds.no_camera, never=NOTHING, lacks=("Next: replace", "Next: longer soak"),
                finds=("camera",), within=60,
                steps=("reseat", "inspect inside", "take all power away", "change a setting",
                       "say what is in the place", "move to another place")),
        ),
    ),
    Habit(
        name="loudspeaker that crackles",
        truth="the right loudspeaker's cone is torn",
        does=(
            Did(words=run("part-missing", "--told", "words=it crackles when it is loud"),
                bed=fresh_beds.hands,
                hand={"sound-output": False, "sound-input": True, "keyboard": True,
                      "touchpad": True, "camera": True},
                top=("speaker", "contact"), never=(*NO_BOARD, "speaker"), within=45,
                steps=("reseat", "inspect inside", "swap with known-good"), lacks=NO_ORDER),
        ),
    ),
    Habit(
        name="no sound, and there is sound",
        truth="nothing: the installed system was muted",
        does=(
            Did(words=run("part-missing", "--told", "words=no sound"), bed=fresh_beds.hands,
                hand={"sound-output": True, "sound-input": True, "keyboard": True,
                      "touchpad": True, "camera": True},
                never=NOTHING, lacks=NO_ORDER, customer_lacks=("is broken.",),
                finds=("installed system",)),
        ),
    ),
)  # fmt: skip
SOCKETS: Final = (
    Habit(
        name="one USB socket is loose",
        truth="its solder joints are broken",
        does=(
            Did(words=run("part-missing", "--told", "when=when it is moved"),
                bed=fresh_beds.hands,
                hand={"usb-ports@usb:1-1": False, "usb-ports@usb:1-2": True},
                top=("usb-port", "contact"), never=(*NO_BOARD, "drive"),
                finds=("USB port",), lacks=("Next: replace: mainboard", "Next: longer soak")),
        ),
    ),
    Habit(
        name="a socket that is shorted",
        truth="a bent tongue in the socket",
        does=(
            Did(words=run("part-missing", "--told", "words=one USB socket is dead"),
                bed=beds.over_current, top=("usb-port", "usb-device", "contact"), never=NO_BOARD,
                finds=("too much current",),
                lacks=("Next: replace: mainboard", "Next: longer soak"),
                steps=("inspect inside", "remove", "external measurement", "clean contacts",
                       "reseat", "move to another place", "say what is in the place",
                       "swap with known-good", "deeper probe")),
        ),
    ),
    Habit(
        name="network dead after a thunderstorm",
        truth="the network part of the board; an adapter at a USB port will do",
        does=(
            Did(words=run("part-missing", "--told", "after=a thunderstorm"), bed=beds.wired,
                hand={"wired": False, "usb-ports": True, "keyboard": True},
                top=("network-controller", "contact", "mainboard"),
                lacks=("Next: replace: drive", "Next: longer soak"), never=("drive",),
                customer=("network",)),
        ),
    ),
    Habit(
        name="wireless weak in the next room",
        truth="the antenna plugs are off the card",
        does=(
            Did(words=run("slow", "--told", "words=the wireless is slow but beside the router",
                          "--told", "after=opened before"),
                bed=fresh_beds.hands, never=NOTHING, lacks=NO_ORDER, finds=("wireless",),
                steps=("inspect inside", "reseat", "external measurement")),
            Did(words=("read-log", "--case", "CASE"), never=(*NO_BOARD, "wireless-card", "drive"),
                log="".join(
                    f"2026-02-20T18:{minute:02d}:11+0100 wander kernel: wlan0: Connection to AP "
                    "02:00:00:00:01:00 lost\n" for minute in range(2, 58, 7)),
                lacks=NO_ORDER),
        ),
    ),
)  # fmt: skip
SYSTEMS: Final = (
    Habit(
        name="restarts before the login, since an update",
        truth="the update of the installed system",
        does=(
            Did(words=run("unstable", "--told", "after=an update", "--told",
                          "password=not told: ask before the system is started", "--told",
                          "data=wanted, no copy"),
                bed=fresh_beds.hands, never=NOTHING, lacks=NO_ORDER,
                customer_lacks=("is broken.",)),
            Did(words=run("unstable", "--answer", "complaint=only in the installed system"),
                bed=fresh_beds.hands, top=("software", "firmware"), never=NOTHING,
                finds=("CAUTION", "data"), lacks=NO_ORDER,
                steps=("repair installed system", "deeper probe", "longer soak"),
                customer=("data",), customer_lacks=("is broken.",)),
        ),
    ),
    Habit(
        name="drive loses data, everything on it encrypted",
        truth="the drive",
        does=(
            Did(words=run("slow", "--told", "data=wanted, no copy", "--told",
                          "password=not told: ask before the system is started", "--told",
                          "words=the drive is encrypted and nobody has the key"),
                bed=stories.drive_1, top=("drive",), never=NO_BOARD,
                finds=("CAUTION: The customer's data", "livecheck rescue"),
                customer=("data",), customer_lacks=("installed anew",)),
        ),
    ),
    Habit(
        name="worn eMMC, soldered, and nobody pays for a board",
        truth="the eMMC is worn out; a stick or card will do",
        does=(
            Did(words=run("slow", "--told", "data=wanted, no copy"), bed=odd_beds.emmc_worn,
                top=("drive",), finds=("solder", "CAUTION"), never=(),
                lacks=("Next: swap with known-good: drive", "Next: reseat")),
            Did(words=("hand-over", "--ticket", "4711"), bed=odd_beds.emmc_worn, status=1,
                never=()),
            Did(words=("outcome", "CASE", "--not-mended", "--note", "not worth it")),
        ),
    ),
    Habit(
        name="brought in by a neighbour, nothing known",
        truth="nothing is wrong with it",
        does=(
            Did(words=run("intake", "--told", "after=nothing known"), bed=fresh_beds.hands,
                never=NOTHING, lacks=NO_ORDER, customer_lacks=("is broken.",)),
            Did(words=run("intake", "--answer", "complaint=nowhere"), bed=fresh_beds.hands,
                hand={"keyboard": True, "touchpad": True, "sound-output": True,
                      "sound-input": True, "camera": True, "usb-ports": True},
                never=NOTHING, lacks=NO_ORDER, customer_lacks=("is broken.",)),
            Did(words=("hand-over", "--ticket", "4711"), bed=fresh_beds.hands, never=NOTHING),
        ),
    ),
)  # fmt: skip
REST: Final = (*SCREENS, *HANDS, *SOCKETS, *SYSTEMS)
