"""Graphics chips and the links to screens.

Wordings: Linux 6.1 and 6.12 ``drivers/gpu/drm`` (i915, xe, amdgpu, radeon, nouveau, display,
scheduler). ``NVRM: Xid``: the maker's published list of numbers (from memory): 13, 31, 43 and
45 may come from a program alone; 48, 63, 64, 94 and 95 are memory of the card; 79: gone; 154
tells what will be done about the one before.
"""

from __future__ import annotations

import re
from typing import Final

from livecheck.kernel_log.rules import Family, Judged, chatter, judged, rule
from livecheck.kernel_log.words import FIRMWARE, GRAPHICS, HOST_BUS, LINK

_GONE_XID: Final = 79
_PROGRAMS_XID: Final = frozenset({43, 45, 154})


def _xid(match: re.Match[str]) -> Judged:
    number = int(match["xid"])
    if number == _GONE_XID:
        return HOST_BUS, "the graphics chip is gone from its bus (Xid 79)", True
    return GRAPHICS, f"the graphics chip faulted (Xid {number})", number not in _PROGRAMS_XID


def _reset_ended(match: re.Match[str]) -> Judged:
    return GRAPHICS, "the graphics chip did not come back from a reset", match["code"] != "0"


_GONE: Final = rule(
    r".*(?:fallen off the bus|lost from the bus)|timer: stalled at f+|unknown chipset \(f+\)|"
    r".*device (?:is )?(?:lost|gone) from|Device is non-operational; MMIO access returns 0xF+|"
    r"pci_channel_io_perm_failure",
    HOST_BUS,
    "the graphics chip is gone from its bus",
)

_HUNG: Final = (
    judged(r"GPU reset end with ret = (?P<code>-?\d+)", _reset_ended),
    rule(
        r"GPU HANG|Hangcheck timer elapsed|stuck on \w+ ring|.*[Rr]ing \S+ (?:timeout|stalled|"
        r"test failed|reset failed)|.*GPU lockup|.*GPU fault|.*GPU is probably locked|"
        r"(?:\[\w+\] )?(?:no-retry |retry )?page fault|VM fault|\w*PROTECTION_FAULT|"
        r"(?:fifo: )?(?:SCHED_ERROR|fault \w+ \[)|gr: (?:TRAP|DATA_ERROR|GPC|ILLEGAL|intr)|"
        r"gsp: rc engn|"
        r"Xid|.*Engine reset|GPU reset begin|.*[Ff]ailed to reset (?!RPS|ACP|crtc|error)|.*wedged|"
        r"Resetting chip|gpu hanging too fast|GPU [Rr]ecovery (?:[Ff]ailed|timed)|"
        r"IB test (?:on \S+ )?failed|"
        r"failed testing IB|hw_init of IP block|Fatal error during GPU init|RmInitAdapter failed|"
        r"rm_init_adapter failed|.*reset request (?:timed out|failed)|heartbeat|"
        r"GuC initialization failed|Illegal (?:opcode|register access|instruction)|"
        r"Enabling uc failed|SMU: (?:I'm not done|response:0xFFFFFFFF|No response)|"
        r"Failed to send message|.*DMCUB error|"
        r"Waiting for fences timed out|.*fence (?:wait timed out|timeout)|UVD not responding|"
        r".*declared device|(?:Timedout job|TLB invalidation|GuC (?:load|mmio))|"
        r"(?:early|late|hw|sw)_init (?:of IP block|\d+).* failed|(?:resume|"
        r"suspend) of IP block .* failed|(?:gr: )?init failed|"
        r"amdgpu_device_ip_\w+ failed|asic (?:atom |reset on )?init failed|gpu post error|"
        r"ASIC reset failed|.*ring test failed|MES(?:\(\d\))? failed to respond|CP ECC ERROR|"
        r"failed to (?:unmap|map|reset) legacy queue|failed to (?:halt|init|unhalt) cp|"
        r"PSP (?:load \w+|create ring|firmware loading|resume) failed|.*RPC response|"
        r"cp queue .*(?:time ?out|failed)|.*timed out waiting for forcewake ack|"
        r"Failed to (?:re-)?initiali[sz]e (?:GPU|HW)|.*timed out, cancelling all in-flight|"
        r".*failed to idle channel|.*uncorrectable hardware error|secboot: error|bus: MMIO write|"
        r"load failed: status|"
        r"(?:probe of (?P<dev>\S+)|probe with driver \S+) failed",
        GRAPHICS,
        "the graphics chip hung or faulted",
    ),
    rule(
        r".*[Ll]ink [Tt]raining (?:failed|[Uu]nsuccessful)|.*(?:failed to train|"
        r"failed link training)"
        r"|failed to (?:enable link training|retrieve link info)|enabling link \d+ failed|"
        r".*link train(?!ing data)",
        LINK,
        "the link to a screen did not train",
    ),
    rule(r".*AUX .*(?:time(?:d )?-?out|did not complete|not done|failed)|.*dp_aux\w* timeout|"
         r".*Too many retries|.*DPIA AUX|.*dpcd (?:read|data) (?:read )?failed|.*while attempting "
         r"aux|.*[Rr]ead failed|.*[Ff]ailed to (?:read|write) (?:aux|DPCD)|LSPCON mode change",
         LINK, "a screen did not answer on its control lines", False),
    rule(r".*[Tt]imed? ?out waiting for (?:DP|\[ENCODER|panel|ACT|PSR|FEC|D2D)|.*port ready|"
         r"Failed to get ACT", LINK, "the link to a screen was slow", False),
    rule(r".*panel (?:power|status)\w* .*time|.*Timeout waiting for (?:DDI|panel)", LINK,
         "the panel did not switch on in time", False),
    rule(r"(?!Using).*EDID", LINK, "a screen's identification was damaged", False),
)  # fmt: skip

_STOPPED: Final = (
    # Another driver may hold the chip, or it is too old for this one.
    rule(r"The NVIDIA probe routine failed", GRAPHICS, "the chip's driver did not start", False),
    rule(r".*(?:flip_done timed out|vblank wait timed out|[Tt]imed out waiting for vblank|"
         r"commit wait timed out|notifier timeout|cleanup_done timed out)", GRAPHICS,
         "the picture stopped", False),
    rule(r"(?:GuC|HuC|GSC|uC) init(?:iali[sz]\w+)? failed|Failed to initiali[sz]e uC", GRAPHICS,
         "a processor inside the graphics chip did not start", False),
    rule(r"(?:GUC: )?(?:CT: |mmio request .*fail)|Error waiting for DMUB idle", GRAPHICS,
         "a processor inside the graphics chip lost step", False),
    # amdgpu_device.c; what the bus found stands in the port's own lines.
    rule(r"PCI error: |pci_channel_io_", HOST_BUS, "the bus reported an error of the chip", False),
    rule(r".*(?:FIFO underrun|fifo underrun|[Aa]tomic update failure|Fault errors on pipe)",
         GRAPHICS, "the picture was starved of data", False),
    rule(r"Resetting \w+\d for|.*context reset due to|GPU reset(?:\(\d+\))? succeeded|"
         r"Engine reset|(?:MODE\d|BACO|PCI CONFIG) reset|"
         r"GPU recovery|.*ring \S+ reset succeeded|VRAM is lost|Starting \S+ ring reset",
         GRAPHICS, "part of the graphics was reset", False),
    rule(r"Failed to (?:export SMU|get current clock|(?:dis|en)able gfxoff|power (?:un)?gate|"
         r"(?:dis|en)able (?:requested )?dpm|initialize parser)|disabling GPU acceleration|"
         r"SMU: |psp gfx command", GRAPHICS, "the chip did not take a command", False),
    rule(r".*(?:[Tt]imed? ?out|TIMEOUT)|Fence fallback timer expired|.*failed to reach value|"
         r"failed to write reg|bus: MMIO read", GRAPHICS,
         "a register did not change in time", False),
    rule(r".*[Ff]irmware .*(?:fetch failed|not found|failed with error|unavailable)|"
         r"Direct firmware load|"
         r".*[Ff]ailed to (?:load|fetch) (?:\w+ )?(?:firmware|ucode|\S+\.bin)|"
         r"Unsupported \w+ v[\d.]+! .* is required|(?:gsp|\w+): (?:firmware )?ctor failed: -2$|"
         r"firmware: failed to load", FIRMWARE,
         "a firmware file of the driver is missing", False),
)  # fmt: skip

_CHATTER: Final = chatter(
    r"(?:limiting |(?:gart|VM|vram) size|"
    r"Process(?: information)?|Finished loading|\[drm\]|Initialized|Found |VRAM|GART|Display |"
    r"at page 0x|Disabling|Reducing|GPU at PCI|loading |The NVIDIA|in (?:page|process)|MORE_FAULTS|"
    r"WALKER_ERROR|PERMISSION_FAULTS|MAPPING_ERROR|RW: |Faulty|GPU mode|IP block|soft reset|"
    r"recover vram|ring \w+ uses|SMU is|fb0|Supports|Using |.*mismatch in|Unexpected DP|"
    r"Couldn't update|PSR|FBC|PPS|.*state mismatch|amdgpu kernel|Topology|Fetched VBIOS|BIOS |"
    r"vgaarb|Will use|runtime pm|reserve|Cannot find|DM_|DMUB|.*backlight|VT-d|"
    r"GSC proxy|(?:GuC|HuC|DMC|GSC) (?!.*(?:fail|timed|not completed|too big|corrupt))|"
    r"GPU (?:hangs can|crash dump)|Please |drm/i915 dev|.*firmware version|Xorg|"
    r"(?:RAS|RAP|SECUREDISPLAY|HDCP|DTM): optional|"
    r".*is not (?:available|supported)|Watermarks|.*dmub_srv: ?$|GPU-[0-9a-f]|"
    r"GPU Board Serial|\[powerplay\] VI should|SECUREDISPLAY|Secure display|"
    r"Failed to retrieve hwconfig|Zero GuC log|Atomic update on pipe|Failed to send host log|"
    r"GPU serial number|.*(?:running on an unsupported|configuration is likely)|"
    r"could not (?:acquire memory|find \w+ node)|"
    r"LTTPR count|os_pci_init_handle|This is a |None of the NVIDIA|\(PCI ID: |"
    r"drm_WARN_ON|(?:Virtual )?CRAT table|SMU driver if version|enabling device|Failed to probe "
    r"lspcon|failed to initialize PXP|Missing outer runtime PM|"
    r"Failed to (?:register vline|find VBIOS|write source OUI)|"
    r"Fail to stop psp|Failed to (?:add|remove) display topology|LSPCON mode|Unknown revid|"
    r"Dumping IP|The CPFW|Selective fetch|installed in this|Try (?:unloading|running)|NVRM|"
    r"\[ENCODER:[^]]+\] is disabled|PCI rebar|Overdrive|"
    r"\w+\[\d+\] context|Skipping|Runtime PM|number of|Trusted Memory|Detected |stolen|"
    r"A GPU crash dump|set_(?:clock|power)gating|DRM: |timer: |disp: |therm: |mxm: |Module)",
    "what the graphics driver said",
)

_ADDRESS: Final = r"[0-9a-f]{4}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]"
_TAGS: Final = (
    r"(?:\[drm(?::[\w.:]+(?: \[\w+\])?)?\] ?)?(?:\*ERROR\* )?(?:amdgpu: )?(?:\[drm\] )?"
    r"(?:\*ERROR\* )?(?:(?:Tile\d+: )?GT\d+:? )?(?:GUC: |\[GUC[\w ]*\] )?\s*"
)
"""What stands before the message itself: subsystem, function, part of the chip."""

_RULES: Final = (_GONE, *_HUNG, *_STOPPED, _CHATTER)

_ON_CHIP: Final = (
    r"(?:msm\w*|adreno|panfrost|panthor|lima|etnaviv[\w-]*|v3d|vc4[\w-]*|rockchip-(?:drm|vop\d?|dp)|"
    r"dw[\w-]*hdmi[\w-]*|mali|asahi|apple-dcp|mediatek-drm|tegra-\w+|sun[48]i-\w+|imx-\w+|"
    r"vmwgfx|virtio_gpu|bochs\S*|qxl|ast|mgag200|hyperv_drm|simple[\w-]*|platform(?= \S+ \[drm))"
)
"""Chips without an address of their own on PCI, and those of servers and virtual machines."""

FAMILIES: Final = (
    Family(
        "graphics",
        re.compile(r"^NVRM: (?=Xid)"),
        (judged(r"Xid \((?:PCI:)?(?P<dev>[0-9a-f:.]+)\): (?P<xid>\d+)", _xid),),
        claims=False,
    ),
    Family(
        "graphics",
        re.compile(
            rf"^(?P<driver>NVRM): (?:GPU\d? (?:at PCI:)?(?P<dev>{_ADDRESS}|[0-9a-f:]+(?=: )): |"
            rf"(?=The NVIDIA GPU (?P<dev2>{_ADDRESS})\s*$))?"
        ),
        _RULES,
        more=(rule(r"\s*NVRM: fallen off the bus", HOST_BUS, _GONE.says),),
        complains=GRAPHICS,
    ),
    Family(
        "graphics",
        re.compile(
            rf"^(?:i915|xe|amdgpu|radeon|nouveau|nvidia) (?P<dev>{_ADDRESS}): {_TAGS}"
            rf"|^nouveau [EWF ]\[\s*\w+\]\[(?P<dev2>{_ADDRESS})\] "
        ),
        _RULES,
        complains=GRAPHICS,
    ),
    Family(
        "graphics",
        re.compile(rf"^{_ON_CHIP} (?P<dev>\S+): {_TAGS}"),
        (
            rule(
                r".*(?:sched timeout|gpu fault|M{1,2}U (?:fault|error)|frame done timeout|crashed|"
                r"error powering up|task error)",
                GRAPHICS,
                "the graphics chip hung or faulted",
            ),
            *_RULES,
        ),
        complains=GRAPHICS,
    ),
    Family(
        "graphics",
        re.compile(
            rf"^(?:\[drm(?::[\w.:]+(?: \[(?P<driver>\w+)\])?)?\] ?(?:\*ERROR\* )?|"
            r"(?P<driver4>nvidia)-modeset: (?:ERROR: |WARNING: )?(?:GPU:\d+: )?|"
            rf"(?P<driver2>amdgpu|radeon|nouveau): |drm/(?P<driver3>i915): "
            rf"|(?=GPU (?:hangs can|crash dump))){_TAGS}"
        ),
        _RULES,
        complains=GRAPHICS,
    ),
)
