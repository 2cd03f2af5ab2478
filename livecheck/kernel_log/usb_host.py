"""USB host controllers.

Wordings: Linux 6.1 and 6.12 ``drivers/usb/host/xhci.c``, ``xhci-ring.c``, ``xhci-hub.c``,
``ehci-hcd.c``, ``ohci-hcd.c``, ``uhci-hcd.c``, ``drivers/usb/core/hcd.c``, ``hcd-pci.c``.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log.rules import Family, chatter, rule
from livecheck.kernel_log.usb import OVER_CURRENT
from livecheck.kernel_log.words import HOST_BUS, POWER, PROTOCOL, TIMEOUT

NO_ANSWER: Final = "a device did not answer its controller"

FAMILY: Final = Family(
    "usb",
    re.compile(r"^(?:xhci|ehci|ohci|uhci|dwc[23])(?:[_-][\w-]+)? (?P<dev>[\w:.-]+): "),
    (
        # ENODEV: a controller that the firmware has switched off.
        chatter(r"init \S+ fail, -19|(?:startup error|can't setup:) -19",
                "a controller that is switched off"),
        rule(
            r"xHCI host (?:controller )?not responding|.*assume dead|HC died|Abort failed to stop|"
            r"Host halt failed|can't setup|init .* fail|startup error|.*fatal error|"
            r"Host took too long|WARNING: Host (?:System|Controller) Error|"
            r"WARN: HC couldn't access mem|PCI post-resume error|can't re-enable after resume|"
            r"Controller not ready at resume|Host (?:controller )?not accessible|"
            r"ERROR unknown event type|host (?:system error|controller process error)|"
            r"host controller halted|USBSTS:.* H[SC]E\b|[Uu]nlink after no-IRQ|"
            r"ERROR Unknown event condition|Stopped the command ring failed|"
            r"Abort command ring failed|"
            r"Can't queue command, xHC not accessible",
            HOST_BUS,
            "the USB controller itself stopped answering",
        ),
        rule(
            r"WARN: xHC (?:CMD_RUN|save state|restore state) timeout|xHC error in resume|"
            r"xHC is not running|force halt|controller not stopped|Host controller not halted|"
            r"Suspending and stopping|xHC (?:save|restore) state error|USBSTS:",
            HOST_BUS,
            "the USB controller was slow to sleep or wake",
            False,
        ),
        rule(r"Timeout (?:while )?waiting for (?:setup|address|reset)", TIMEOUT,
             NO_ANSWER),
        rule(r"Error while assigning device slot", TIMEOUT, "a new device got no place"),
        rule(r"Timeout|Port resume timed out|port [\d-]+ resume PLC timeout|port \d+ (?:resume|"
             r"reset)",
             TIMEOUT, "a port was slow to answer its controller", False),
        rule(
            r"ERROR (?:Transfer|mismatched|Invalid|unknown endpoint|queuing|interrupter)|"
            r"WARN.*(?:TRB|TR [Dd]eq|event|short TX|cmd|buffer)|Mismatch between|"
            r"Setup ERROR|ERROR: |Event TRB|Command completion event|Transfer event|"
            r"bad transfer trb|Error: Failed finding|@[0-9a-f]{16}|Looking for event-dma",
            PROTOCOL,
            "transfers mixed up",
            False,
        ),
        rule(r"(?:port [\d-]+ )?over-?current", POWER, OVER_CURRENT),
        chatter(r"USB core suspending port|Cannot set port|Can't set compliance",
                "a port did not change its state as asked"),
        chatter(
            r"\w+ Host Controller|EHCI|OHCI|UHCI|USB [\d.]+ started|hcc params|new USB bus|irq \d|"
            r"Max number of devices|bus (?:suspend|resume)|Not enough (?:bandwidth|host)|"
            r"xHCI xhci_|Trying to add|"
            r"Frame ID|"
            r"Ignore frame|Host supports|WARN|ERR: |ep 0x|Virt dev|Invalid |Duplicate port|"
            r"Ignoring unknown|Unsuccessful disable|Unknown completion|Stop endpoint|debug port|"
            r"Reset device|Device Notification|Could not get|Set TR Deq|Can't (?:enqueue|find dma|"
            r"enable|alloc)|Port change event|Port was marked|port \d+ |Failed to (?:add|clear|"
            r"set)|"
            r"Ring |Missing link|Do not support|deq seg|ep deq|URB |Canceled URB|ISOC TD|"
            r"Root hub|Secondary root|enabled |supports|applying|quirk|USB3 root|remove|USB bus|"
            r"Using |Warning! ehci|clear_halt|Interrupter|cache line|slot_id|Slot ID|Bad Slot|"
            r"No (?:ports|dev|xhci|msi)|Link PM|Zero-length",
            "what the controller's driver said",
        ),
    ),
    complains=PROTOCOL,
)  # fmt: skip
