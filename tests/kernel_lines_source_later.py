# ruff: noqa: E501 (the kernel's lines are as long as they are)
"""More messages of Linux 6.12 drivers, of other files of the same subsystems.

Filled in and judged as those of ``kernel_lines_source`` were, after the program had been worked on
with those and before it was shown any of these.
"""

from __future__ import annotations

from typing import Final

from tests.kernel_lines_source import Sourced

# fmt: off

# drivers/ata/libata-core.c, libata-acpi.c, ata_piix.c, libata-sff.c; drivers/nvme/host/core.c
_DRIVES: Final[list[Sourced]] = [
    (4, "timeout", "ata1.00", "fault", "ata1.00: qc timeout after 15000 msecs (cmd 0x2f)"),
    (4, "timeout", "ata1.00", "fault", "ata1.00: STANDBY IMMEDIATE failed (err_mask=0x4)"),
    (3, "link", "ata3.00", "fault", "ata3.00: failed to IDENTIFY (I/O error, err_mask=0x10)"),
    (4, "timeout/protocol/other", "ata1.00", "either", "ata1.00: failed to enable Sense Data for successful NCQ commands, Emask 0x40"),
    (4, "", "*", "quiet", "ata1.00: LPM support broken, forcing max_power"),
    (4, "", "*", "quiet", "ata1.00: HPA support seems broken, skipping HPA handling"),
    (4, "", "*", "quiet", "ata1.00: ATA Identify Device Log not supported"),
    (4, "", "*", "quiet", "ata1.00: Read Command Duration Limits log failed"),
    (4, "", "*", "quiet", "ata1.00: _GTF evaluation failed (AE 0x5)"),
    (5, "", "*", "quiet", "ata1.00: FORCE: xfer_mask set to udma5"),
    (4, "", "*", "quiet", "ata_piix 0000:00:1f.2: Samsung DB-P70 detected, disabling SIDPR"),
    (3, "timeout", "nvme0", "fault", "nvme nvme0: Device not ready; aborting shutdown, CSTS=0x5"),
    (3, "host bus", "nvme0", "fault", "nvme nvme0: Device not ready; aborting reset, CSTS=0xffffffff"),
    (3, "protocol/timeout/host bus", "nvme0", "fault", "nvme nvme0: Identify Controller failed (-4)"),
    (3, "protocol/host bus", "nvme0", "fault", "nvme nvme0: Reading CRTO failed (-19)"),
    (4, "protocol", "nvme0", "fault", "nvme nvme0: resetting controller due to persistent internal error"),
    (4, "protocol/other", "nvme0", "either", "nvme nvme0: Identify NS List failed (status=0x4002)"),
    (4, "protocol/other", "nvme0", "either", "nvme nvme0: Identify namespace failed (-5)"),
    (4, "", "*", "quiet", "nvme nvme0: could not set timestamp (8194)"),
    (3, "", "*", "quiet", "nvme nvme0: failed to set APST feature (2)"),
    (4, "", "*", "quiet", "nvme nvme0: NPSS is invalid; not using APST"),
    (4, "", "*", "quiet", "nvme nvme0: bad crto:0 cap:1000303c033fff"),
    (4, "", "*", "quiet", "nvme nvme0: clearing duplicate IDs for nsid 1"),
    (3, "", "*", "quiet", "nvme nvme0: Duplicate cntlid 1 with nvme1, subsys nqn.2014.08.org.nvmexpress, rejecting"),
    (3, "", "*", "quiet", "nvme nvme0: Minimum device page size 134217728 too large for host (4096)"),
    (3, "medium", "nvme0n1", "fault", "nvme0n1: Read(0x2) @ LBA 5123456, 256 blocks, Unrecovered Read Error (sct 0x2 / sc 0x81) DNR "),
    (3, "protocol", "nvme0n1", "fault", "nvme0n1: Write(0x1) @ LBA 5123456, 256 blocks, Internal Error (sct 0x0 / sc 0x6) DNR "),
]

# drivers/scsi/sd.c, scsi_error.c
_DISKS: Final[list[Sourced]] = [
    (2, "timeout/protocol", "sda", "fault", "sd 0:0:0:0: [sda] Medium access timeout failure. Offlining disk!"),
    (3, "link", "sda", "fault", "sd 0:0:0:0: [sda] device offline or changed"),
    (3, "timeout", "0:0:0:0", "fault", "sd 0:0:0:0: Device offlined - not ready after error recovery"),
    (5, "timeout/other", "sdb", "either", "sd 6:0:0:0: [sdb] not responding..."),
    (3, "", "*", "quiet", "sd 6:0:0:0: [sdb] No Caching mode page found"),
    (3, "", "*", "quiet", "sd 6:0:0:0: [sdb] Incomplete mode parameter data"),
    (5, "", "*", "quiet", "sd 6:0:0:0: [sdb] Test WP failed, assume Write Enabled"),
    (4, "", "*", "quiet", "sd 6:0:0:0: [sdb] Optimal transfer size 33553920 bytes not a multiple of preferred minimum block size (4096 bytes)"),
    (4, "", "*", "quiet", "sd 6:0:0:0: [sdb] Operating parameters on this target have changed. The Linux SCSI layer does not automatically adjust these parameters."),
]

# drivers/usb/core/config.c, driver.c; drivers/usb/host/xhci.c, xhci-ring.c, xhci-hub.c, ehci-hcd.c; drivers/usb/typec/altmodes/displayport.c, class.c; drivers/thunderbolt/{ctl,nhi,retimer,eeprom,acpi}.c
_PORTS: Final[list[Sourced]] = [
    (5, "", "*", "quiet", "usb 1-3: config 1 interface 0 altsetting 0 endpoint 0x81 has invalid wMaxPacketSize 0"),
    (5, "", "*", "quiet", "usb 1-3: config 1 has an invalid interface descriptor of length 2, skipping"),
    (4, "", "*", "quiet", "usb 2-3: No SuperSpeed endpoint companion for config 1  interface 0 altsetting 0 ep 129: using minimum values"),
    (3, "protocol/other", "1-3", "either", "usb 1-3: config index 0 descriptor too short (expected 32, got 9)"),
    (3, "protocol/link/timeout", "1-3", "either", "usb 1-3: rebind failed: -110"),
    (4, "", "*", "quiet", "usb 1-3: usbhid Failed to disable LPM for driver usbhid"),
    (3, "host bus", "0000:00:14.0", "fault", "xhci_hcd 0000:00:14.0: Host took too long to start, waited 16000 microseconds."),
    (4, "host bus", "0000:00:14.0", "fault", "xhci_hcd 0000:00:14.0: xHCI host controller not responding, assume dead"),
    (3, "host bus/protocol", "0000:00:14.0", "either", "xhci_hcd 0000:00:14.0: ERROR interrupter event ring not ready"),
    (3, "host bus/protocol/other", "0000:00:14.0", "either", "xhci_hcd 0000:00:14.0: ERROR: unexpected command completion code 0x11."),
    (4, "timeout", "0000:00:14.0", "either", "xhci_hcd 0000:00:14.0: Timeout while waiting for evaluate context command"),
    (4, "timeout", "0000:00:14.0", "either", "xhci_hcd 0000:00:14.0: port 1-3 resume PLC timeout"),
    (4, "", "*", "quiet", "xhci_hcd 0000:00:14.0: Not enough bandwidth on HS bus for newly activated TT."),
    (4, "", "*", "quiet", "xhci_hcd 0000:00:14.0: WARN: endpoint 0x81 has streams on device reset, freeing streams."),
    (4, "", "*", "quiet", "xhci_hcd 0000:00:14.0: WARN Set TR Deq Ptr cmd failed due to incorrect slot or ep state."),
    (4, "", "*", "quiet", "xhci_hcd 0000:00:14.0: Cannot set port 1-3 link state 5"),
    (4, "", "*", "quiet", "Warning! ehci_hcd should always be loaded before uhci_hcd and ohci_hcd, not after"),
    (3, "protocol/timeout/other", "port0-partner.0", "either", "typec_displayport port0-partner.0: dp_altmode_work: status update failed"),
    (3, "protocol/timeout/other", "port0-partner.0", "either", "typec_displayport port0-partner.0: unable to send Status Update command (-110)"),
    (4, "timeout", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: 1: timeout writing config space 1 to 0x6"),
    (4, "link/protocol/other", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: RX overflow for ring 1"),
    (4, "", "*", "quiet", "thunderbolt 0000:00:0d.2: 0:1: downstream port is locked"),
    (4, "", "*", "quiet", "thunderbolt 0000:00:0d.2: 1: DROM size mismatch"),
    (4, "", "*", "quiet", "thunderbolt 0000:00:0d.2: RX: invalid size 0x14, dropping packet"),
    (4, "protocol/timeout/other", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: interrupt for TX ring 0 is already enabled"),
]

# drivers/pci/pcie/aer.c, aspm.c, probe.c, quirks.c, pci-driver.c, hotplug/pciehp_hpc.c, vpd.c
_SLOTS: Final[list[Sourced]] = [
    (3, "host bus", "0000:01:00.0", "fault", "nvme 0000:01:00.0: PCIe Bus Error: severity=Uncorrectable (Fatal), type=Inaccessible, (Unregistered Agent ID)"),
    (3, "protocol", "0000:01:00.0", "either", "nvme 0000:01:00.0: PCIe Bus Error: severity=Uncorrectable (Non-Fatal), type=Transaction Layer, (Completer ID)"),
    (4, "link", "0000:00:1d.0", "either", "pcieport 0000:00:1d.0: PCIe Bus Error: severity=Correctable, type=Data Link Layer, (Transmitter ID)"),
    (3, "host bus/link/protocol/other", "0000:01:00.0", "either", "nvme 0000:01:00.0: AER: aer_layer=Transaction Layer, aer_agent=Requester ID"),
    (3, "host bus/protocol/other", "0000:00:1d.0", "either", "pcieport 0000:00:1d.0: AER: request AER IRQ 122 failed"),
    (4, "", "*", "quiet", "nvme 0000:01:00.0: can't disable ASPM; OS doesn't have ASPM control"),
    (4, "", "*", "quiet", "pci 0000:01:00.0: Max Payload Size 512, but upstream 0000:00:1d.0 set to 256; if necessary, use \"pci=pcie_bus_safe\" and report a bug"),
    (3, "", "*", "quiet", "pci 0000:01:00.0: BAR 0: can't handle BAR larger than 4GB (size 0x0000000200000000)"),
    (4, "", "*", "quiet", "pci 0000:00:02.0: BIOS left Intel GPU interrupts enabled; disabling"),
    (4, "timeout", "0000:01:00.0", "either", "nvme 0000:01:00.0: Timeout waiting for NVMe ready status to clear after disable"),
    (4, "timeout/host bus", "0000:01:00.0", "either", "pci 0000:01:00.0: timeout during reset"),
    (4, "", "*", "quiet", "nvme 0000:01:00.0: PCI PM: State of device not saved by nvme_suspend+0x0/0x1a0 [nvme]"),
    (4, "", "*", "quiet", "pci 0000:00:1f.0: failed VPD read at offset 1"),
    (3, "power", "0000:00:1c.0", "fault", "pcieport 0000:00:1c.0: pciehp: Slot(8): Power fault"),
    (3, "link", "0000:00:1c.0", "fault", "pcieport 0000:00:1c.0: pciehp: Slot(8): Cannot train link: status 0x3011"),
    (6, "link", "0000:00:1c.0", "fault", "pcieport 0000:00:1c.0: pciehp: Slot(8): Link Down"),
]

# drivers/mmc/core/mmc.c, mmc_ops.c, block.c, host/sdhci-pci-gli.c, sdhci-acpi.c
_READERS: Final[list[Sourced]] = [
    (4, "protocol/link/other", "mmc0", "either", "mmc0: switch to high-speed from hs200 failed, err:-84"),
    (3, "link", "mmc0", "either", "mmc0: mmc_select_hs400es failed, error -84"),
    (3, "timeout", "mmc0", "either", "mmc0: Power Off Notification timed out, 100"),
    (3, "timeout", "mmc0", "either", "mmc0: error -110 doing aggressive suspend"),
    (4, "", "*", "quiet", "mmc0: card has unknown MMCA version 9"),
    (4, "", "*", "quiet", "mmc0: unspecified timeout for CMD6 - use generic"),
    (4, "", "*", "quiet", "mmc0: Enabling HPI failed"),
    (4, "protocol/other", "mmc0", "either", "mmc0: Cache is supported, but failed to turn on (-110)"),
    (4, "", "*", "quiet", "mmc0: power class selection to bus width 8 ddr 0 failed"),
    (4, "protocol", "mmc0", "fault", "mmc0: unexpected status 0xff000000 after switch"),
    (4, "protocol/link", "mmc0", "fault", "mmc0: unable to read EXT_CSD, performance might suffer"),
    (4, "", "*", "quiet", "mmc1: enable PCI MSI failed, error=-22"),
    (4, "", "*", "quiet", "sdhci-acpi 80860F14:00: failed to setup card detect gpio"),
]

# drivers/acpi/{ec,fan_core,acpi_processor,power}.c, apei/{hest,einj-core}.c; drivers/thermal/thermal_core.c, intel/intel_pch_thermal.c; drivers/power/supply/axp288_*.c
_FIRMWARE: Final[list[Sourced]] = [
    (4, "", "*", "quiet", "ACPI: EC: Warning: Maximum of 255 stale EC events cleared"),
    (3, "", "*", "quiet", "acpi PNP0C0B:00: Invalid _FIF data"),
    (3, "", "*", "quiet", "ACPI: processor: BIOS reported wrong ACPI id 255 for the processor"),
    (4, "", "*", "quiet", "HEST: Unknown or unused hardware error source type: 9 for hardware error source: 3."),
    (3, "", "*", "quiet", "HEST: Failed to get table, AE_NOT_FOUND"),
    (0, "thermal", "*", "fault", "thermal thermal_zone3: x86_pkg_temp: critical temperature reached"),
    (2, "", "*", "quiet", "thermal thermal_zone0: Disabled thermal zone with critical trip point"),
    (3, "", "*", "quiet", "thermal thermal_zone1: Unable to get temperature, disabling!"),
    (4, "", "*", "quiet", "intel_pch_thermal 0000:00:12.0: CPU-PCH current temp [56C] higher than the threshold temp [50C], S0ix might fail. Start cooling..."),
    (3, "protocol/link/timeout/other", "axp288_fuel_gauge", "either", "axp288_fuel_gauge axp288_fuel_gauge: Error reading reg 0xb9 err: -110"),
    (3, "", "*", "quiet", "axp288_fuel_gauge axp288_fuel_gauge: capacity measurement not valid"),
]

# drivers/net/wireless/intel/iwlwifi/{pcie/trans.c,dvm/main.c,mvm/mac80211.c,mvm/sta.c,mvm/time-event.c}
_INTEL_RADIOS: Final[list[Sourced]] = [
    (3, "timeout", "0000:00:14.3", "fault", "iwlwifi 0000:00:14.3: Failed to load firmware chunk!"),
    (3, "host bus", "*", "fault", "Timeout waiting for hardware access (CSR_GP_CNTRL 0xffffffff)"),
    (3, "", "*", "quiet", "iwlwifi 0000:00:14.3: No suitable DMA available"),
    (3, "", "*", "quiet", "iwlwifi 0000:03:00.0: 0x00000000 | isr0"),
    (3, "", "*", "quiet", "iwlwifi 0000:03:00.0: 0x000008A4 | line"),
    (3, "protocol/other", "0000:03:00.0", "either", "iwlwifi 0000:03:00.0: failed to send BT Coex Config"),
    (3, "protocol/other", "0000:03:00.0", "either", "iwlwifi 0000:03:00.0: flush request fail"),
    (3, "protocol/other", "0000:00:14.3", "either", "iwlwifi 0000:00:14.3: failed to update power mode"),
    (3, "protocol/other", "0000:00:14.3", "either", "iwlwifi 0000:00:14.3: Failed to register hw (error -22)"),
    (3, "", "*", "quiet", "iwlwifi 0000:00:14.3: Failed to find station id"),
    (3, "", "*", "quiet", "iwlwifi 0000:00:14.3: Got an invalid ROC type"),
    (3, "firmware/other", "0000:03:00.0", "either", "iwlwifi 0000:03:00.0: Unsupported (too old) EEPROM VER=0x2 < 0x423 CALIB=0x2 < 0x5"),
    (3, "protocol/other", "0000:00:14.3", "either", "iwlwifi 0000:00:14.3: Failed to config FW to work HE!"),
]

# drivers/net/wireless/ath/{ath10k/core.c,mac.c,wmi.c,ce.c;ath11k/htc.c,core.c,wow.c;ath12k}; realtek/{rtw88/phy.c,main.c;rtw89/mac.c,ser.c,pci.c,rtw8852c.c,mac_be.c}; mediatek/{mt76_connac_mcu.c,mt7603,mt76x02,mt7601u/phy.c}; broadcom/brcm80211/brcmfmac/{chip.c,common.c,pcie.c,bcdc.c}; ralink
_OTHER_RADIOS: Final[list[Sourced]] = [
    (3, "firmware", "0000:02:00.0", "either", "ath10k_pci 0000:02:00.0: failed to fetch board-2.bin or board.bin from ath10k/QCA6174/hw3.0"),
    (3, "timeout", "0000:02:00.0", "fault", "ath10k_pci 0000:02:00.0: could not init core: -110"),
    (3, "timeout/protocol", "0000:02:00.0", "either", "ath10k_pci 0000:02:00.0: could not execute otp for ext board id check: -110"),
    (4, "", "*", "quiet", "ath10k_pci 0000:02:00.0: failed to set rts threshold for vdev 0: -105"),
    (4, "protocol/other/timeout", "0000:02:00.0", "either", "ath10k_pci 0000:02:00.0: failed to transmit frame: -12"),
    (4, "timeout", "0000:02:00.0", "either", "ath10k_pci 0000:02:00.0: failed to stop scan: -110"),
    (4, "", "*", "quiet", "ath11k_pci 0000:02:00.0: failed to delete vdev 0: -2"),
    (4, "protocol/other", "0000:02:00.0", "either", "ath11k_pci 0000:02:00.0: HTC Rx: invalid eid 255"),
    (4, "timeout/protocol", "0000:02:00.0", "either", "ath11k_pci 0000:02:00.0: settings HTC version failed"),
    (3, "", "*", "quiet", "rtw89_8852be 0000:02:00.0: SER cannot recognize error: 0x2201"),
    (3, "host bus", "0000:02:00.0", "fault", "rtw_8822ce 0000:02:00.0: pci bus timeout, check dma status"),
    (3, "protocol/host bus", "0000:02:00.0", "either", "rtw89_8852be 0000:02:00.0: [ERR]CMAC0 DMA init -110"),
    (3, "protocol/host bus", "0000:02:00.0", "either", "rtw89_8922ae 0000:02:00.0: dle_quota_change: query DLE fail"),
    (4, "", "*", "quiet", "rtw89_8852ce 0000:02:00.0: Fail to switch bw (bw:9, pri ch:36)"),
    (3, "", "*", "quiet", "rtw_8822ce 0000:02:00.0: unsupported rf path (4)"),
    (3, "", "*", "quiet", "rtw89_8852be 0000:02:00.0: failed to request irq -22"),
    (3, "host bus/protocol/timeout", "0000:02:00.0", "either", "rtw89_8852be 0000:02:00.0: failed to read CLKREQ_L1, ret=-16"),
    (3, "protocol/timeout", "0000:02:00.0", "either", "mt7603e 0000:02:00.0: Failed to start firmware"),
    (3, "timeout", "0000:02:00.0", "fault", "mt7603e 0000:02:00.0: Timeout waiting for firmware to initialize"),
    (3, "timeout/protocol", "0000:02:00.0", "fault", "mt7915e 0000:02:00.0: Timeout for driver own"),
    (3, "timeout", "0000:02:00.0", "fault", "mt76x2e 0000:02:00.0: MCU message 31 (seq 5) timed out"),
    (4, "", "*", "quiet", "mt7615e 0000:02:00.0: eeprom load fail, use default bin"),
    (3, "timeout/protocol/host bus", "1-3", "either", "mt7601u 1-3:1.0: Error: BBP is not ready"),
    (3, "link/protocol", "1-3", "either", "mt76x2u 1-3:1.0: tx urb failed: -71"),
    (3, "protocol/other/host bus", "brcmfmac", "either", "brcmfmac: brcmf_chip_recognition: unknown chip: BCM4350/5"),
    (3, "timeout", "phy0", "either", "ieee80211 phy0: brcmf_c_preinit_dcmds: Retrieving cur_etheraddr failed, -110"),
    (3, "protocol/other", "phy0", "either", "ieee80211 phy0: brcmf_proto_bcdc_query_dcmd: unexpected request id 5 (expected 6)"),
]

# drivers/bluetooth/{btintel.c,btintel_pcie.c,btmtk.c,btrtl.c}; net/bluetooth/{hci_core.c,hci_sync.c}
_BLUETOOTH: Final[list[Sourced]] = [
    (3, "timeout", "hci0", "fault", "Bluetooth: hci0: command 0xfc05 tx timeout"),
    (3, "protocol", "hci0", "fault", "Bluetooth: hci0: Hardware error 0x0c"),
    (3, "timeout", "hci0", "fault", "Bluetooth: hci0: Reset after hardware error failed (-110)"),
    (3, "protocol/timeout", "hci0", "fault", "Bluetooth: hci0: FW download error recovery failed (-19)"),
    (3, "", "*", "quiet", "Bluetooth: hci0: Unsupported Intel hardware variant (255)"),
    (4, "", "*", "quiet", "Bluetooth: hci0: Debug features not read"),
    (3, "timeout", "hci0", "fault", "Bluetooth: hci0: Failed to send firmware signature (-110)"),
    (3, "timeout", "hci0", "fault", "Bluetooth: hci0: Failed to get device id (-110)"),
    (3, "firmware", "hci0", "either", "Bluetooth: hci0: Failed to load firmware file (-2)"),
    (3, "timeout/protocol/host bus", "hci0", "either", "Bluetooth: hci0: No alive interrupt received for iml"),
    (3, "protocol/other", "hci0", "either", "Bluetooth: hci0: read local version failed"),
    (3, "protocol/other", "hci0", "either", "Bluetooth: hci0: HCI reset during shutdown failed"),
    (3, "", "*", "quiet", "Bluetooth: hci0: Invalid size of firmware file (0)"),
    (3, "", "*", "quiet", "Bluetooth: hci0: Unable to remove from allow list: -16"),
    (3, "", "*", "quiet", "Bluetooth: hci0: killing stalled connection 00:11:22:33:44:55"),
    (3, "link/timeout/protocol", "hci0", "either", "Bluetooth: hci0: regmap: Register (0x404) read error (-110)"),
]

# drivers/gpu/drm/i915/{display/intel_cdclk.c,intel_bw.c,gt/uc/intel_guc.c}; xe/{xe_guc_ct,xe_device,xe_uc_fw,xe_gsc_proxy,xe_guc_submit}.c; drm_atomic_helper.c, drm_vblank.c, drm_edid.c; amd/{amdgpu,pm,display}; nouveau
_PICTURES: Final[list[Sourced]] = [
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* Switching back to LCPLL failed"),
    (3, "graphics/timeout", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* timed out waiting for CDclk change"),
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* Failed to inform PCU about cdclk change (err -110, freq 312000)"),
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* Failed to disable qgv points (0x3) points: 0x7"),
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* GT0: GUC: suspend: RESET_CLIENT action failed with -ETIMEDOUT"),
    (4, "firmware/graphics/other", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] GuC firmware i915/tgl_guc_70.bin: invalid size: 512 > 0"),
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* [CRTC:51:pipe A] cleanup_done timed out"),
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* [PLANE:31:plane 1A] commit wait timed out"),
    (4, "link", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] EDID block 0 (tag 0x00) checksum is invalid, remainder is 130"),
    (4, "", "*", "quiet", "i915 0000:00:02.0: [drm] cdclk state doesn't match!"),
    (3, "graphics", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] *ERROR* GT0: CT read: non-zero status: 4"),
    (3, "graphics", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] *ERROR* GT0: H2G action 0x3004 failed (-ECANCELED)"),
    (3, "graphics", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] *ERROR* GT0: G2H channel broken on read, avail=4, len=7, reset required"),
    (3, "graphics/firmware", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] *ERROR* GT1: GSC FW reports proxy init not completed"),
    (4, "graphics/timeout", "0000:00:02.0", "fault", "xe 0000:00:02.0: [drm] GT0: Schedule disable failed to respond"),
    (3, "graphics", "0000:00:02.0", "fault", "xe 0000:00:02.0: [drm] *ERROR* GT0: GuC engine reset request failed on 0:0 because 0x00000000"),
    (3, "graphics", "0000:04:00.0", "fault", "amdgpu 0000:04:00.0: amdgpu: IB test failed on gfx_0.0.0 (-110)."),
    (3, "graphics", "0000:04:00.0", "either", "amdgpu 0000:04:00.0: amdgpu: scheduling IB failed (-22)."),
    (3, "graphics", "0000:04:00.0", "either", "amdgpu 0000:04:00.0: amdgpu: Failed to wait for trust OS ready for ring creation"),
    (3, "graphics/link/other", "amdgpu", "either", "[drm:smu_v11_0_i2c_write_data [amdgpu]] *ERROR* WriteI2CData() - I2C error occurred :1"),
    (4, "link", "0000:04:00.0", "either", "amdgpu 0000:04:00.0: [drm] EDID err: 2, on connector: eDP-1"),
    (3, "", "*", "quiet", "amdgpu 0000:04:00.0: amdgpu: Invalid sdma engine id (2), using engine id 0"),
    (3, "graphics", "0000:01:00.0", "either", "nouveau 0000:01:00.0: fifo: CHSW_ERROR 00000002"),
    (3, "graphics", "0000:01:00.0", "either", "nouveau 0000:01:00.0: disp: ch 1 timeout: 00000009"),
    (4, "", "*", "quiet", "nouveau 0000:01:00.0: DRM: unknown connector type 61"),
]

# sound/pci/hda/{cs35l41_hda.c,cs35l41_hda_property.c,hda_intel.c}; sound/soc/sof/{pm.c,pcm.c,intel/cnl.c,hda-dai.c}; sound/soc/codecs/{cs35l56-shared.c,rt5663.c,max98373.c}; sound/soc/amd; drivers/soundwire/intel_auxdevice.c
_SOUNDS: Final[list[Sourced]] = [
    (3, "timeout", "i2c-CSC3551:00-cs35l41-hda.0", "either", "cs35l41-hda i2c-CSC3551:00-cs35l41-hda.0: Fail to start dsp: -110"),
    (3, "link", "i2c-CSC3551:00-cs35l41-hda.0", "either", "cs35l41-hda i2c-CSC3551:00-cs35l41-hda.0: Get Device ID failed: -121"),
    (3, "", "*", "quiet", "cs35l41-hda i2c-CSC3551:00-cs35l41-hda.0: Platform not supported -22"),
    (3, "", "*", "quiet", "cs35l41-hda spi0-CSC3551:00-cs35l41-hda.0: Failed to find an ACPI device for CSC3551"),
    (4, "", "*", "quiet", "cs35l41-hda i2c-CSC3551:00-cs35l41-hda.0: Cannot Run Firmware, reverting to dsp bypass..."),
    (3, "timeout", "0000:00:1f.3", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: error: failed to boot DSP firmware after resume -110"),
    (4, "", "*", "quiet", "sof-audio-pci-intel-tgl 0000:00:1f.3: warn: can't find PCM with DAI ID 6"),
    (3, "", "*", "quiet", "sof-audio-pci-intel-tgl 0000:00:1f.3: error: no matching PCI descriptor"),
    (3, "firmware/protocol/other", "0000:00:1f.3", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: error: failed to load DSP topology -22"),
    (3, "protocol/other", "0000:00:1f.3", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: error: host status 0x00000000 dsp status 0x00000000 mask 0x00000003"),
    (3, "protocol/other", "sdw:0:0:01fa:3556:01", "either", "cs35l56 sdw:0:0:01fa:3556:01: Get Secure status failed"),
    (3, "protocol/other", "i2c-10EC5663:00", "either", "rt5663 i2c-10EC5663:00: Unknown CODEC Version"),
    (3, "timeout", "soundwire_intel.link.0", "either", "soundwire_intel soundwire_intel.link.0: intel_resume: power_up failed: -110"),
]

# drivers/hid/{i2c-hid/i2c-hid-core.c,hid-core.c,hid-logitech-hidpp.c}; drivers/i2c/busses/{i2c-i801,i2c-piix4,i2c-designware-common}.c; input/{serio/i8042.c,mouse/{psmouse-base,elantech,alps}.c,touchscreen/goodix.c,rmi4/{rmi_driver,rmi_i2c}.c}
_INPUTS: Final[list[Sourced]] = [
    (3, "link", "i2c-ELAN0001:00", "fault", "i2c_hid_acpi i2c-ELAN0001:00: failed to fetch HID descriptor: -121"),
    (3, "protocol", "i2c-ELAN0001:00", "fault", "i2c_hid_acpi i2c-ELAN0001:00: reading report descriptor failed"),
    (3, "link/protocol", "i2c-ELAN0001:00", "either", "i2c_hid_acpi i2c-ELAN0001:00: failed to set a report to device: -121"),
    (3, "", "*", "quiet", "i2c_hid_acpi i2c-ELAN0001:00: HID over i2c has not been provided an Int IRQ"),
    (4, "", "*", "quiet", "i801_smbus 0000:00:1f.4: BIOS is accessing SMBus registers"),
    (3, "timeout/other/protocol", "0000:00:1f.4", "either", "i801_smbus 0000:00:1f.4: SMBus is busy, can't use it!"),
    (3, "", "*", "quiet", "piix4_smbus 0000:00:14.0: SMBus base address uninitialized - upgrade BIOS or use force_addr=0xaddr"),
    (4, "timeout", "i2c_designware.0", "either", "i2c_designware i2c_designware.0: timeout in disabling adapter"),
    (3, "timeout/protocol/other", "i2c_designware.0", "either", "i2c_designware i2c_designware.0: couldn't acquire bus ownership"),
    (3, "protocol/other", "0003:046D:4082.0004", "either", "logitech-hidpp-device 0003:046D:4082.0004: hidpp_root_get_protocol_version: received protocol error 0x08"),
    (3, "host bus/protocol/other", "i8042", "either", "i8042: Failed to disable AUX port, can't use MUX"),
    (4, "host bus/protocol/other", "i8042", "either", "i8042: Can't write CTR while closing AUX port"),
    (4, "protocol/link/other", "serio1", "either", "psmouse serio1: Failed to deactivate mouse on isa0060/serio1: -5"),
    (3, "protocol", "serio1", "either", "psmouse serio1: elantech: touchpad refuses to switch to absolute mode."),
    (3, "protocol", "serio1", "either", "psmouse serio1: alps: Failed to enable absolute mode"),
    (3, "", "*", "quiet", "Goodix-TS i2c-GDIX1001:00: Invalid config (0, 0, 0), using defaults"),
    (3, "protocol/host bus/other", "rmi4-00", "either", "rmi4_physical rmi4-00: Missing F01 container!"),
    (3, "link/protocol", "rmi4-00", "either", "rmi4_physical rmi4-00: Read PDT entry at 0x00e9 failed, code: -121."),
]

# drivers/net/ethernet/intel/e1000e/netdev.c, ich8lan.c, igc/igc_ptp.c; char/tpm/{tpm-interface,tpm1-cmd}.c; misc; platform/x86/asus-wmi.c, intel/pmc; hwmon; bus/mhi
_BOARD: Final[list[Sourced]] = [
    (3, "host bus/protocol", "0000:00:1f.6", "either", "e1000e 0000:00:1f.6 enp0s31f6: Hardware Error"),
    (3, "protocol", "0000:00:1f.6", "either", "e1000e 0000:00:1f.6 enp0s31f6: Reset adapter unexpectedly"),
    (4, "host bus/protocol/link", "0000:00:1f.6", "either", "e1000e 0000:00:1f.6 enp0s31f6: Error reading PHY register"),
    (3, "", "*", "quiet", "e1000e 0000:00:1f.6 enp0s31f6: Could not set PHY Host Wakeup bit"),
    (3, "", "*", "quiet", "e1000e 0000:00:1f.6: Failed to initialize MSI-X interrupts.  Falling back to MSI interrupts."),
    (3, "host bus/protocol", "0000:00:1f.6", "either", "e1000e 0000:00:1f.6: Cannot re-enable PCI device after reset."),
    (3, "timeout", "0000:03:00.0", "either", "igc 0000:03:00.0 enp3s0: PTM Error: Root port timeout"),
    (3, "timeout/host bus/protocol", "0000:00:1f.6", "fault", "e1000e 0000:00:1f.6 enp0s31f6: Detected Hardware Unit Hang:"),
    (3, "protocol/link", "tpm0", "either", "tpm tpm0: tpm_transmit: tpm_recv: error -62"),
    (3, "protocol", "tpm0", "fault", "tpm tpm0: TPM self test failed, switching to the firmware upgrade mode"),
    (4, "", "*", "quiet", "tpm tpm0: TPM savestate took 120ms"),
    (4, "", "*", "quiet", "asus_wmi: Failed to set panel overdrive: 0"),
    (4, "", "*", "quiet", "intel_pmc_core INT33A1:00: Assuming a default substate order for this platform"),
    (3, "", "*", "quiet", "acerhdf: error reading fan state, hand off control to BIOS"),
    (3, "host bus/protocol/other", "mhi0", "either", "mhi mhi0: Event ring rp points outside of the event ring"),
]

# kernel/time/clocksource.c, reboot.c, suspend.c; arch/x86/kernel/{smpboot.c,hpet.c,cpu/microcode/amd.c}; mm/{memory-failure.c,page_io.c,slub.c,filemap.c,page_alloc.c}; drivers/iommu/{intel/dmar.c,amd/init.c}
_PROCESSOR: Final[list[Sourced]] = [
    (3, "machine check", "*", "fault", "Memory failure: 0x1a2b3c: recovery action for clean LRU page: Recovered"),
    (3, "machine check/other", "*", "either", "Memory failure: 0x1a2b3c: failed to unmap page (folio mapcount=1)"),
    (1, "other", "*", "either", "Write-error on swap-device (8:0:123456)"),
    (3, "other", "*", "fault", "BUG kmalloc-64 (Not tainted): Object padding overwritten"),
    (1, "other", "*", "fault", "BUG: Bad page cache in process systemd-journal  pfn:1a2b3c"),
    (4, "", "*", "quiet", "min_free_kbytes is not updated to 67584 because user defined value 65536 is preferred"),
    (0, "thermal", "*", "fault", "reboot: HARDWARE PROTECTION shutdown (Temperature too high)"),
    (4, "", "*", "quiet", "clocksource:                       'hpet' wd_nsec: 503291250 wd_now: 1d8e3c wd_last: 1683f4 mask: ffffffff"),
    (3, "other/machine check", "*", "either", "smpboot: CPU 7 APIC ID e is not present. Aborting bringup"),
    (3, "other/machine check", "*", "either", "CPU3 is stuck in mwait_play_dead()"),
    (3, "", "*", "quiet", "microcode: CPU0: update failed for patch_level=0x08600106"),
    (3, "host bus", "*", "fault", "DMAR: VT-d detected Invalidation Queue Error: Reason f"),
    (3, "host bus", "*", "either", "DMAR: [INTR-REMAP] Request device [00:1f.0] fault index 0x17 [fault reason 0x26] Blocked an interrupt request due to source-id verification failure"),
    (4, "", "*", "quiet", "AMD-Vi: EFR mismatch. Use IVHD EFR (0xf77ef22294ada : 0x0), EFR2 (0x0 : 0x0)."),
    (3, "", "*", "quiet", "DMAR: Can't map the region"),
]

# fs/ext4/{inode.c,balloc.c}, jbd2/transaction.c; btrfs/{disk-io.c,volumes.c}; xfs/{xfs_error.c,xfs_bmap.c}; ntfs3/super.c; drivers/md/md.c; block/t10-pi.c
_FILES: Final[list[Sourced]] = [
    (2, "other/medium", "sda2", "either", "EXT4-fs error (device sda2): ext4_wait_block_bitmap:586: comm kworker/u16:1: Cannot read block bitmap - block_group = 12, block_bitmap = 1036"),
    (2, "other", "sda3", "either", "BTRFS critical (device sda3): unable to find chunk map for logical 30408704 length 16384"),
    (3, "other", "sda3", "either", "BTRFS error (device sda3): failed to read log tree"),
    (3, "other", "nvme0n1p3", "either", "BTRFS error (device nvme0n1p3): bdev /dev/nvme0n1p3 errs: wr 0, rd 3, flush 0, corrupt 0, gen 0"),
    (1, "other", "nvme0n1p3", "either", "XFS (nvme0n1p3): Internal error xfs_trans_cancel at line 1097 of file fs/xfs/xfs_trans.c.  Caller xfs_create+0x4a0/0x510"),
    (4, "other", "sda2", "either", "XFS (sda2): Bmap BTree record corruption in inode 0x85 data fork detected at xfs_bmap_validate_extent+0x48/0xb0!"),
    (3, "", "*", "quiet", "ntfs3(sda4): Mark volume as dirty due to NTFS errors"),
    (4, "other/medium", "*", "either", "md: sdb1 gets error=-5"),
    (3, "link/other/medium", "*", "either", "nvme0n1: ref tag error at location 1024 (rcvd 2048)"),
]

# fmt: on

SECOND: Final = [
    *_DRIVES, *_DISKS, *_PORTS, *_SLOTS, *_READERS, *_FIRMWARE, *_INTEL_RADIOS, *_OTHER_RADIOS,
    *_BLUETOOTH, *_PICTURES, *_SOUNDS, *_INPUTS, *_BOARD, *_PROCESSOR, *_FILES,
]  # fmt: skip
