# ruff: noqa: E501 (the kernel's lines are as long as they are)
"""More kernel messages and what each means; the file of each wording stands beside its group."""

from __future__ import annotations

from typing import Final

from tests.kernel_lines import Case

# fmt: off

# drivers/pci/pci.c: pci_raw_set_power_state (before 5.19), pci_set_full_power_state,
# pci_set_low_power_state. Asked for sleep it stays awake; asked to wake it answers with all ones.
POWER_STATES: Final[list[Case]] = [
    ("pci 0000:01:00.0: Refused to change power state, currently in D0", "protocol", "0000:01:00.0", False),
    ("xhci_hcd 0000:39:00.0: Refused to change power state, currently in D3", "host bus", "0000:39:00.0", True),
    ("pcieport 0000:00:1c.0: refused to change power state from D0 to D3hot", "protocol", "0000:00:1c.0", False),
    ("pcieport 0000:00:1c.0: Refused to change power state from D3hot to D0", "host bus", "0000:00:1c.0", True),
    ("nvme 0000:01:00.0: Refused to change power state from D0 to D3hot", "protocol", "0000:01:00.0", False),
]

# drivers/usb/host/pci-quirks.c: quirk_usb_handoff_xhci; drivers/usb/core/hcd.c: usb_add_hcd
HANDED_OVER: Final[list[Case]] = [
    ("pci 0000:39:00.0: xHCI HW not ready after 5 sec (HC bug?) status = 0xffffffff", "host bus", "0000:39:00.0", True),
    ("pci 0000:00:14.0: xHCI HW not ready after 5 sec (HC bug?) status = 0x801", "host bus", "0000:00:14.0", False),
    ("pci 0000:00:14.0: xHCI HW did not halt within 250 usec status = 0xffffffff", "host bus", "0000:00:14.0", True),
    ("xhci_hcd 0000:39:00.0: can't setup: -19", "other", "0000:39:00.0", False),
    ("xhci_hcd 0000:39:00.0: can't setup: -110", "host bus", "0000:39:00.0", True),
]

# drivers/iommu/amd/iommu.c: amd_iommu_report_page_fault (pci_err with the driver's name before it)
MISADDRESSED: Final[list[Case]] = [
    ("rtw89_8852ce 0000:04:00.0: AMD-Vi: Event logged [IO_PAGE_FAULT domain=0x0002 address=0x10000000004 flags=0x0030]", "host bus", "0000:04:00.0", False),
    ("nvme 0000:01:00.0: AMD-Vi: Event logged [IO_PAGE_FAULT domain=0x0000 address=0x0 flags=0x0000]", "host bus", "0000:01:00.0", False),
]

# drivers/net/ethernet/intel/igb/igb_main.c igb_rd32, igc/igc_main.c igc_rd32;
# realtek/r8169_firmware.c; drivers/net/usb/r8152.c
NETWORKS: Final[list[Case]] = [
    ("igc: Failed to read reg 0xc030!", "host bus", None, True),
    ("igb: Failed to read reg 0x18!", "host bus", None, True),
    ("r8169 0000:02:00.0: Unable to load firmware rtl_nic/rtl8168h-2.fw (-2)", "firmware", "0000:02:00.0", False),
]

# sound/soc/sof/fw-file-profile.c, core.c, intel/hda-codec.c; sound/soc/intel/skylake
SOUNDS: Final[list[Case]] = [
    ("sof-audio-pci-intel-mtl 0000:00:1f.3: SOF firmware and/or topology file not found.", "firmware", "0000:00:1f.3", False),
    ("sof-audio-pci-intel-tgl 0000:00:1f.3: error: sof_probe_work failed err: -2", "firmware", "0000:00:1f.3", False),
    ("sof-audio-pci-intel-tgl 0000:00:1f.3: error: sof_probe_work failed err: -110", "timeout", "0000:00:1f.3", True),
    ("sof-audio-pci 0000:00:1f.3: Direct firmware load for intel/sof/sof-cfl.ri failed with error -2", "firmware", "0000:00:1f.3", False),
    ("snd_soc_skl 0000:00:1f.3: Request firmware failed -2", "firmware", "0000:00:1f.3", False),
    ("sof-audio-pci 0000:00:1f.3: error: codec #0 probe error, ret: -2", "protocol", "0000:00:1f.3", False),
]

# drivers/usb/typec/ucsi/ucsi_acpi.c through drivers/base/dd.c; drivers/thunderbolt/icm.c
USB_C: Final[list[Case]] = [
    ("ucsi_acpi USBC000:00: probe with driver ucsi_acpi failed with error -110", "timeout", "USBC000:00", False),
    ("thunderbolt 0000:00:0d.2: failed to send driver ready to ICM", "timeout", "0000:00:0d.2", False),
]

# drivers/media/i2c (ov8856.c, imx208.c, gc08a3.c: "failed to find sensor: %d")
CAMERAS: Final[list[Case]] = [
    ("ov2740 i2c-INT3474:01: failed to find sensor: -121", "link", "i2c-INT3474:01", False),
    ("ov8856 i2c-OVTI8856:00: probe with driver ov8856 failed with error -121", "link", "i2c-OVTI8856:00", False),
    ("imx208: probe of i2c-INT3478:00 failed with error -5", "protocol", "i2c-INT3478:00", False),
]

# drivers/base/power/main.c for what a machine can do without; drivers/accel/ivpu/ivpu_drv.c
HELPERS: Final[list[Case]] = [
    ("spd5118 10-0050: PM: failed to resume async: error -6", "other", "10-0050", False),
    ("intel_vpu 0000:00:0b.0: [drm] *ERROR* ivpu_boot(): Failed to boot the firmware: -110", "timeout", "0000:00:0b.0", False),
    ("intel_ish_ipc 0000:00:12.0: ISH: hw start failed.", "protocol", "0000:00:12.0", False),
]

# drivers/gpu/drm/amd/amdgpu/amdgpu_device.c, amdgpu_psp.c; NVRM's words as threads show them
GRAPHICS: Final[list[Case]] = [
    ("amdgpu 0000:03:00.0: amdgpu: MODE2 reset", "graphics", "0000:03:00.0", False),
    ("amdgpu 0000:03:00.0: amdgpu: GPU reset succeeded, trying to resume", "graphics", "0000:03:00.0", False),
    ("radeon 0000:01:00.0: GPU reset succeeded, trying to resume", "graphics", "0000:01:00.0", False),
    ("[drm:psp_resume [amdgpu]] *ERROR* PSP resume failed", "graphics", "amdgpu", True),
    ("NVRM: The NVIDIA probe routine failed for 1 device(s).", "graphics", "NVRM", False),
    ("NVRM: fallen off the bus and is not responding to commands.", "host bus", "NVRM", True),
    ("NVRM: Xid (PCI:0000:01:00): 154, GPU recovery action changed from 0x0 (None) to 0x1 (PF FLR)", "graphics", "0000:01:00", False),
]

# drivers/net/wireless/realtek/rtw89/fw.c: rtw89_fw_hdr_parser
FILES: Final[list[Case]] = [
    ("rtw89_8852ce 0000:02:00.0: [ERR]fw bin size", "firmware", "0000:02:00.0", False),
    ("rtw89_8852ce 0000:02:00.0: parse fw header fail", "firmware", "0000:02:00.0", False),
    ("rtw89_8852be 0000:02:00.0: fw type 3 isn't recognized", "firmware", "0000:02:00.0", False),
]

# drivers/hid/i2c-hid/i2c-hid-core.c (i2c_hid_finish_hwreset, i2c_hid_get_report); drivers/i2c/busses/i2c-i801.c
PADS: Final[list[Case]] = [
    ("i2c_hid_acpi i2c-MSFT0001:01: device did not ack reset within 1000 ms", "timeout", "i2c-MSFT0001:01", False),
    ("i2c_hid_acpi i2c-MSFT0001:01: failed to retrieve report from device.", "protocol", "i2c-MSFT0001:01", False),
    ("i2c_hid_acpi i2c-MSFT0001:01: failed to reset device: -61", "protocol", "i2c-MSFT0001:01", True),
    ("i801_smbus 0000:00:1f.4: Timeout waiting for interrupt!", "timeout", "0000:00:1f.4", False),
    ("i2c_designware i2c_designware.1: controller timed out", "timeout", "i2c_designware.1", True),
]

# drivers/ata/libata-eh.c: ata_eh_link_report; a copy of it has often lost its indent
RESULTS: Final[list[Case]] = [
    ("res 41/40:80:00:18:2c/00:05:02:00:00/40 Emask 0x409 (media error) <F>", "medium", None, True),
]

# kernel/watchdog.c since 6.5; fs/xfs/xfs_log.c; sound/soc/sof/loader.c
STOPPED: Final[list[Case]] = [
    ("watchdog: CPU3: Watchdog detected hard LOCKUP on cpu 3", "other", None, True),
    ("XFS (nvme0n1p3): log I/O error -5", "other", "nvme0n1p3", True),
    ("sof-audio-pci-intel-mtl 0000:00:1f.3: Firmware boot failure due to timeout", "protocol", "0000:00:1f.3", True),
]

# drivers/net/wireless/realtek/rtw88/fw.c rtw_fw_send_h2c_command, main.c rtw_fw_recovery_work (WARN);
# drivers/bus/mhi/host/boot.c; broadcom/brcm80211/brcmfmac (cfg80211.c, sdio.c, chip.c); ath11k/core.c
RADIOS: Final[list[Case]] = [
    ("rtw_8822ce 0000:01:00.0: failed to send h2c command", "protocol", "0000:01:00.0", False),
    ("firmware crash, start reset and recover", "protocol", None, True),
    ("mhi mhi0: Direct firmware load for ath11k/WCN6855/hw2.1/amss.bin failed with error -2", "firmware", "mhi0", False),
    ("mhi mhi0: Error loading firmware: -2", "firmware", "mhi0", False),
    ("ath11k_pci 0000:01:00.0: failed to power up :-110", "timeout", "0000:01:00.0", True),
    ("ath10k_snoc 18800000.wifi: firmware crashed! (guid n/a)", "protocol", "18800000.wifi", True),
    ("ieee80211 phy0: brcmf_escan_timeout: timer expired", "timeout", "phy0", False),
    ("brcmfmac: brcmf_chip_recognition: chip backplane type 15 is not supported", "host bus", "brcmfmac", True),
]

# drivers/pci/controller; drivers/remoteproc/qcom_q6v5.c; drivers/nvme/host/apple.c;
# drivers/hwmon/raspberrypi-hwmon.c; drivers/iommu/arm/arm-smmu; arch/arm64/kernel/traps.c
ARM: Final[list[Case]] = [
    ("rockchip-pcie f8000000.pcie: PCIe link training gen1 timeout!", "link", "f8000000.pcie", False),
    ("qcom-pcie 1c08000.pci: Phy link never came up", "link", "1c08000.pci", False),
    ("qcom_q6v5_pas 3000000.remoteproc: fatal error received: err_qdi.c:1040:EF:root_pd:0x1", "protocol", "3000000.remoteproc", False),
    ("nvme-apple 393cc0000.nvme: I/O 5(aq:0) timeout: completion polled", "timeout", "393cc0000.nvme", True),
    ("hwmon hwmon1: Undervoltage detected!", "power", None, True),
    ("arm-smmu 15000000.iommu: Unhandled context fault: fsr=0x402, iova=0x0, fsynr=0x3, cbfrsynra=0x1, cb=2", "host bus", "15000000.iommu", False),
    ("Internal error: Oops: 0000000096000004 [#1] SMP", "other", None, True),
    ("panfrost ff9a0000.gpu: gpu sched timeout, js=1, config=0x7b00, status=0x8", "graphics", "ff9a0000.gpu", True),
    ("cros-ec-spi spi0.0: EC failed to respond in time", "timeout", "spi0.0", True),
]

# drivers/gpu/drm/xe/xe_guc_fw.c; i915/gt/uc; nouveau; drivers/i2c/busses/i2c-designware-common.c;
# drivers/hid; drivers/pci/pcie/aer.c behind drivers/pci/controller/vmd.c (domains from 10000 on)
OTHERS: Final[list[Case]] = [
    ("xe 0000:00:02.0: [drm] *ERROR* GT0: Unsupported GuC v70.20.0! v70.29.2 or newer is required", "firmware", "0000:00:02.0", False),
    ("xe 0000:00:02.0: [drm] *ERROR* GT0: GuC init failed with -EINVAL", "graphics", "0000:00:02.0", False),
    ("i2c_designware i2c_designware.1: i2c_dw_handle_tx_abort: lost arbitration", "link", "i2c_designware.1", False),
    ("hid-multitouch 0018:06CB:7E7E.0001: failed to fetch feature 8, error -110", "timeout", "0018:06CB:7E7E.0001", False),
    ("pcieport 10000:e0:06.0: PCIe Bus Error: severity=Corrected, type=Physical Layer, (Receiver ID)", "link", "10000:e0:06.0", False),
    ("ucsi_glink.pmic_glink_ucsi pmic_glink.ucsi.0: PPM init failed (-110)", "timeout", "pmic_glink.ucsi.0", False),
]

# drivers/input/touchscreen (goodix.c, atmel_mxt_ts.c); sound/soc/codecs on SoundWire (tas2783-sdw.c, rt715-sdca.c)
TOUCH: Final[list[Case]] = [
    ("Goodix-TS i2c-GDIX1001:00: I2C transfer error: -110", "timeout", "i2c-GDIX1001:00", True),
    ("atmel_mxt_ts i2c-ATML0001:00: Failed to read T44 and T5 (-110)", "timeout", "i2c-ATML0001:00", True),
    ("slave-tas2783 sdw:0:2:0102:0000:01:c: Direct firmware load for 8EB4-2-C.bin failed with error -2", "firmware", "sdw:0:2:0102:0000:01:c", False),
]

# drivers/usb/core/config.c: usb_get_configuration; without a first configuration there is no device.
# drivers/net/wireless/realtek/rtw88/main.c: rtw_wait_firmware_completion; rtw89/fw.c: a file that
# was not found. drivers/iommu/amd/iommu.c before 4.19. drivers/input/mouse/psmouse-base.c before
# 2.6.38. sound/hda/hdac_device.c. drivers/gpu/drm/amd/amdgpu/gmc_v9_0.c: the second line of a fault.
# The last five: drivers/hid/i2c-hid/i2c-hid-core.c, usb/core/hub.c, libahci.c, ath11k/pci.c.
UNANSWERED: Final[list[Case]] = [
    ("usb 1-2.4: unable to read config index 0 descriptor/start: -32", "protocol", "1-2.4", True),
    ("usb 1-2.4: unable to read config index 1 descriptor/start: -32", "protocol", "1-2.4", False),
    ("usb 1-2.4: unable to read config index 0 descriptor/all", "protocol", "1-2.4", True),
    ("usb 1-2.4: unable to read config index 0 descriptor/all: -110", "timeout", "1-2.4", True),
    ("usb 1-2.4: can't read configurations, error -32", "protocol", "1-2.4", True),
    ("usb 1-2.4: can't read configurations, error -12", "protocol", "1-2.4", False),
    ("usb 2-6: Direct firmware load for brcm/brcmfmac43143.clm_blob failed with error -2", "firmware", "2-6", False),
    ("rtw_8822ce 0000:01:00.0: failed to wait firmware completion", "firmware", "0000:01:00.0", False),
    ("IO_PAGE_FAULT device=05:00.0 domain=0x0012 address=0x00000000ff6101b0 flags=0x0070]", "host bus", "05:00.0", False),
    ("AMD-Vi: Event logged [IO_PAGE_FAULT device=05:00.0 domain=0x0012 address=0xff6101b0 flags=0x0070]", "host bus", "05:00.0", False),
    ("psmouse.c: TouchPad at isa0060/serio1/input0 lost sync at byte 1", "link", "serio1", False),
    ("hdaudio hdaudioC0D0: no AFG or MFG node found", "protocol", "hdaudioC0D0", True),
    ("amdgpu 0000:09:00.0:   at page 0x0000000102a02000 from 27", "other", "0000:09:00.0", False),
    ("brcmfmac: brcmf_inetaddr_changed: fail to get arp ip table err:-52", "protocol", "brcmfmac", False),
    ("i2c_hid i2c-ELAN0001:00: i2c_hid_get_input: incomplete report (14/65535)", "protocol", "i2c-ELAN0001:00", False),
    ("usb 1-2: device firmware changed", "protocol", "1-2", False),
    ("ata2: softreset failed (device not ready)", "timeout", "ata2", True),
    ("ata2: softreset failed (1st FIS failed)", "link", "ata2", True),
    ("ath11k_pci 0000:02:00.0: link down error during global reset", "host bus", "0000:02:00.0", True),
]

# fmt: on

LATER: Final = [
    *POWER_STATES, *HANDED_OVER, *MISADDRESSED, *NETWORKS, *SOUNDS, *USB_C, *CAMERAS, *HELPERS,
    *GRAPHICS, *FILES, *PADS, *RESULTS, *STOPPED,
    *RADIOS, *ARM, *OTHERS, *TOUCH, *UNANSWERED,
]  # fmt: skip
