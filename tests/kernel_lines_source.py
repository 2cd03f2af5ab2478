# ruff: noqa: E501 (the kernel's lines are as long as they are)
"""Messages of Linux 6.12 drivers, taken from their format strings and filled in as the kernel would.

The files stand beside each group. What each means was written down before the program was shown
any of them: the message itself and the code around it say so, and how such drivers behave on
sound machines (common practice, no source). ``kernel_lines_source_later`` has those of other files.
"""

from __future__ import annotations

from typing import Final

Sourced = tuple[int, str, str, str, str]
"""The kernel's priority; layers it may be given, parted by "/"; the device, "-" for none and "*"
for any; "fault" where it must count, "quiet" where it must be known and not count, "either"
where it may; the message."""

# fmt: off

# drivers/ata/libahci.c, ahci.c; drivers/nvme/host/pci.c, multipath.c
_DRIVES: Final[list[Sourced]] = [
    (4, "other/host bus/protocol/link", "ata4", "either", "ata4: failed to reset engine (errno=-5)"),
    (3, "host bus", "0000:00:17.0", "fault", "ahci 0000:00:17.0: Controller reset failed (0x80000001)"),
    (3, "host bus/protocol/other", "0000:00:17.0", "either", "ahci 0000:00:17.0: failed to clear device error"),
    (4, "", "*", "quiet", "ahci 0000:00:17.0: port 2 is not capable of FBS"),
    (4, "", "*", "quiet", "ahci 0000:00:17.0: masking port_map 0x7f -> 0x7"),
    (4, "", "*", "quiet", "ahci 0000:00:17.0: forcing PORTS_IMPL to 0x7"),
    (3, "", "*", "quiet", "ahci 0000:00:1f.2: BIOS update required for suspend/resume"),
    (4, "", "*", "quiet", "ahci 0000:00:17.0: Found 1 remapped NVMe devices."),
    (4, "", "*", "quiet", "ahci 0000:00:17.0: Switch your BIOS from RAID to AHCI mode to use them."),
    (4, "", "*", "quiet", "ata1.00: failed to disable DEVSLP"),
    (4, "host bus", "nvme0", "fault", "nvme nvme0: controller is down; will reset: CSTS=0xffffffff, PCI_STATUS read failed (134)"),
    (4, "protocol/host bus/timeout", "nvme0", "fault", "nvme nvme0: IO queues lost"),
    (4, "protocol/host bus/timeout", "nvme0", "either", "nvme nvme0: failed to mark controller live state"),
    (4, "protocol/host bus", "nvme0", "fault", "nvme nvme0: Disabling device after reset failure: -19"),
    (4, "link/host bus", "nvme0", "fault", "nvme nvme0: frozen state error detected, reset controller"),
    (4, "link/host bus", "nvme0", "fault", "nvme nvme0: failure state error detected, request disconnect"),
    (4, "timeout", "nvme0", "fault", "nvme nvme0: I/O tag 384 (1180) opcode 0x1 (I/O Cmd) QID 12 timeout, aborting req_op:WRITE(1) size:131072"),
    (4, "timeout", "nvme0", "fault", "nvme nvme0: I/O tag 24 (5018) opcode 0x6 (Admin Cmd) QID 0 timeout, reset controller"),
    (4, "timeout", "nvme0", "fault", "nvme nvme0: I/O tag 10 (000a) QID 0 timeout, disable controller"),
    (4, "", "*", "quiet", "nvme nvme0: Abort status: 0x371"),
    (4, "", "*", "quiet", "nvme nvme0: Try \"nvme_core.default_ps_max_latency_us=0 pcie_aspm=off pcie_port_pm=off\" and report a bug"),
    (4, "", "*", "quiet", "nvme nvme0: failed to set host mem (err 16386, flags 0x1)."),
    (4, "", "*", "quiet", "nvme nvme0: IO queue depth clamped to 128"),
    (4, "", "*", "quiet", "nvme nvme0: failed to register the CMB"),
    (4, "", "*", "quiet", "nvme nvme0: unable to allocate dma for dbbuf"),
    (4, "link/host bus/other/protocol/timeout", "nvme0n1", "either", "block nvme0n1: no usable path - requeuing I/O"),
    (4, "link/host bus/other/protocol/timeout", "nvme0n1", "either", "block nvme0n1: no available path - failing I/O"),
]

# drivers/scsi/scsi_lib.c, scsi_scan.c, sr.c; drivers/usb/storage/usb.c, uas.c
_DISKS: Final[list[Sourced]] = [
    (3, "timeout", "sdb", "fault", "sd 2:0:0:0: [sdb] tag#5 timing out command, waited 180s"),
    (3, "timeout/link", "2:0:0:0", "fault", "sd 2:0:0:0: rejecting I/O to dead device"),
    (4, "", "*", "quiet", "sr 1:0:0:0: [sr0] GET_EVENT and TUR disagree continuously, suppress GET_EVENT events"),
    (6, "", "*", "quiet", "scsi 6:0:0:0: scsi scan: INQUIRY result too short (5), using 36"),
    (3, "protocol/other", "6:0:0:0", "either", "scsi 6:0:0:0: Unexpected response from lun 1 while scanning, scan aborted"),
    (5, "", "*", "quiet", "usb-storage 1-4:1.0: This device (0951,1666,0110 S 06 P 50) has unneeded SubClass and Protocol entries in unusual_devs.h (kernel 6.12)"),
    (6, "", "*", "quiet", "usb-storage 1-4:1.0: Quirks match for vid 152d pid 0578: 1000000"),
    (6, "timeout", "sdb", "fault", "sd 6:0:0:0: [sdb] tag#12 uas_eh_abort_handler 0 uas-tag 13 inflight: CMD IN "),
    (3, "timeout", "host6", "fault", "scsi host6: uas_eh_device_reset_handler FAILED to get lock err -19"),
]

# drivers/usb/core/hub.c, hcd.c, hcd-pci.c, generic.c
_PORTS: Final[list[Sourced]] = [
    (3, "link", "1-3", "fault", "usb 1-3: device descriptor read/8, error -71"),
    (3, "protocol/link", "1-3", "fault", "usb 1-3: device reset changed ep0 maxpacket size!"),
    (3, "protocol/link", "2-1", "either", "usb 2-1: got a wrong device descriptor, warm reset device"),
    (3, "link", "1-3", "fault", "hub 1-3:1.0: config failed, can't get hub status (err -71)"),
    (4, "host bus/protocol/other", "1-3", "either", "usb 1-3: Busted HC?  Not enough HCD resources for old configuration."),
    (3, "timeout", "1-3", "fault", "usb 1-3: can't restore configuration #1 (error=-110)"),
    (3, "protocol", "1-3", "either", "usb 1-3: failed to restore interface 0 altsetting 0 (error=-32)"),
    (3, "link/protocol", "usb2-port2", "either", "usb usb2-port2: config error"),
    (4, "power", "1-0", "either", "hub 1-0:1.0: insufficient power available to use all downstream ports"),
    (4, "power/other", "1-3", "either", "usb 1-3: 500mA is over 100mA budget!"),
    (3, "power", "usb1-port2", "fault", "usb usb1-port2: over-current condition"),
    (4, "", "*", "quiet", "usb 1-3: Failed to set U1 timeout to 0xff,error code -32"),
    (4, "power/protocol/other", "1-3", "either", "usb 1-3: no configuration chosen from 1 choice"),
    (3, "", "*", "quiet", "usb 1-3: Device is not authorized for usage"),
    (3, "link", "2-0", "fault", "hub 2-0:1.0: hub_ext_port_status failed (err = -71)"),
    (3, "timeout", "usb1-port3", "fault", "usb usb1-port3: cannot warm reset (err = -110)"),
    (3, "host bus", "0000:00:14.0", "fault", "xhci_hcd 0000:00:14.0: init 0000:00:14.0 fail, -110"),
    (3, "host bus", "0000:00:1d.0", "fault", "ehci-pci 0000:00:1d.0: can't re-enable after resume, -5!"),
    (3, "host bus/firmware/other", "0000:00:14.0", "either", "xhci_hcd 0000:00:14.0: Found HC with no IRQ. Check BIOS/PCI 0000:00:14.0 setup!"),
    (3, "", "*", "quiet", "usb 1-3.1.1: Unsupported bus topology: hub nested too deep"),
    (3, "protocol/other", "1-3", "either", "hub 1-3:1.0: bad descriptor, ignoring hub"),
]

# drivers/usb/host/xhci-mem.c, pci-quirks.c; drivers/usb/typec/ucsi/ucsi.c; drivers/thunderbolt/{icm,tb,switch,tunnel}.c
_CONTROLLERS: Final[list[Sourced]] = [
    (4, "", "*", "quiet", "pci 0000:00:1d.0: EHCI: BIOS handoff failed (BIOS bug?) 01010001"),
    (4, "", "*", "quiet", "pci 0000:00:14.0: xHCI BIOS handoff failed (BIOS bug ?) 00010001"),
    (3, "host bus/other/protocol", "0000:00:14.0", "either", "xhci_hcd 0000:00:14.0: No Extended Capability registers, unable to set up roothub"),
    (4, "host bus/other/protocol", "0000:00:14.0", "either", "xhci_hcd 0000:00:14.0: No ports on the roothubs?"),
    (4, "", "*", "quiet", "usb 1-3: ep 0x81 - rounding interval to 64 microframes, ep desc says 80 microframes"),
    (4, "", "*", "quiet", "xhci_hcd 0000:00:14.0: Port was marked as USB 3, duplicated as USB 2"),
    (4, "host bus/other/protocol", "0000:00:14.0", "either", "xhci_hcd 0000:00:14.0: WARN something wrong with SW event ring dequeue ptr."),
    (4, "host bus", "0000:00:14.0", "fault", "pci 0000:00:14.0: xHCI controller failing to respond"),
    (4, "power", "USBC000:00", "either", "ucsi_acpi USBC000:00: Overcurrent condition"),
    (4, "power", "USBC000:00", "either", "ucsi_acpi USBC000:00: Reverse Current Protection detected"),
    (4, "", "*", "quiet", "ucsi_acpi USBC000:00: PPM Policy conflict"),
    (4, "", "*", "quiet", "ucsi_acpi USBC000:00: Partner rejected swap"),
    (4, "", "*", "quiet", "ucsi_acpi USBC000:00: Hard reset occurred"),
    (3, "timeout/protocol/other", "USBC000:00", "either", "ucsi_acpi USBC000:00: con2: failed to register partner alt modes (-110)"),
    (3, "timeout", "USBC000:00", "either", "ucsi_acpi USBC000:00: ucsi_handle_connector_change: GET_CONNECTOR_STATUS failed (-110)"),
    (3, "protocol/other", "USBC000:00", "either", "ucsi_acpi USBC000:00: con:1: failed to set usb role:-22"),
    (3, "protocol/timeout/link/other", "USBC000:00", "either", "ucsi_acpi USBC000:00: UCSI_GET_PDOS failed (-5)"),
    (4, "", "*", "quiet", "ucsi_acpi USBC000:00: UCSI: Invalid num_connectors 15. Likely buggy FW"),
    (4, "", "*", "quiet", "thunderbolt 0000:00:0d.2: 1: lost during suspend, disconnecting"),
    (4, "link/protocol/other", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: 0:1: failed to enable lane bonding"),
    (4, "link/protocol/other", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: 1: failed to set link width"),
    (4, "", "*", "quiet", "thunderbolt 0000:00:0d.2: 0:8 <-> 1:9 (PCI): path is not complete, cleaning up"),
    (4, "", "*", "quiet", "thunderbolt 0000:00:0d.2: 0:5 <-> 1:11 (DP): not enough bandwidth available"),
    (3, "firmware/protocol/timeout/other", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: ICM firmware is in wrong mode: 0"),
    (3, "firmware/protocol/timeout", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: could not start ICM firmware"),
    (3, "timeout", "0-1", "either", "thunderbolt 0-1: reading DROM failed: -110"),
    (3, "host bus/protocol/timeout", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: failed to read root switch config space, giving up"),
    (4, "", "*", "quiet", "thunderbolt 0000:00:0d.2: hotplug event from non existent switch 1:3 (unplug: 0)"),
    (4, "timeout/link", "0000:00:0d.2", "either", "thunderbolt 0000:00:0d.2: 1:1: timeout changing link width"),
]

# drivers/pci/pci.c, pcie/dpc.c, setup-res.c, pci-acpi.c, bus.c, hotplug/pciehp_core.c
_SLOTS: Final[list[Sourced]] = [
    (3, "link", "0000:00:1d.0", "fault", "pcieport 0000:00:1d.0: DPC: containment event, status:0x1f01 source:0x0000"),
    (4, "link", "0000:00:1d.0", "fault", "pcieport 0000:00:1d.0: DPC: containment event, status:0x1f01: unmasked uncorrectable error detected"),
    (4, "link", "0000:00:1d.0", "fault", "pcieport 0000:00:1d.0: DPC: containment event, status:0x1f15: ERR_FATAL detected"),
    (3, "link/protocol/other", "0000:00:1d.0", "either", "pcieport 0000:00:1d.0: DPC: RP PIO severity=0x00010000, syserror=0x00000000, exception=0x00000000"),
    (3, "", "*", "quiet", "pcieport 0000:00:1d.0: DPC: TLP Header: 0x4a000001 0x01000004 0x00000000 0x00000000"),
    (4, "timeout/host bus", "0000:01:00.0", "fault", "nvme 0000:01:00.0: not ready 65535ms after bus reset; giving up"),
    (3, "timeout", "0000:01:00.0", "either", "nvme 0000:01:00.0: timed out waiting for pending transaction; performing function level reset anyway"),
    (3, "host bus", "0000:03:00.0", "fault", "pci 0000:03:00.0: BAR 0: error updating (0xa0000004 != 0xffffffff)"),
    (3, "host bus", "0000:03:00.0", "fault", "pci 0000:03:00.0: BAR 2: error updating (high 0x00000060 != 0xffffffff)"),
    (3, "firmware/host bus/protocol/other", "0000:01:00.0", "either", "nvme 0000:01:00.0: BAR 0 [mem size 0x00004000 64bit]: not assigned; can't enable device"),
    (4, "", "*", "quiet", "pci 0000:01:00.0: PCI-X settings not supported"),
    (3, "host bus/protocol/other", "0000:00:1d.0", "either", "pcieport 0000:00:1d.0: pciehp: Controller initialization failed (-19)"),
    (3, "host bus/link/timeout/protocol/other", "0000:00:07.0", "either", "pcieport 0000:00:07.0: DPC: root port still busy"),
    (4, "", "*", "quiet", "pcieport 0000:00:1c.0: unlocked secondary bus reset via: pci_reset_bus_function+0x10a/0x1d0"),
    (4, "", "*", "quiet", "pci 0000:00:1c.0: All device reset methods disabled by user"),
]

# drivers/mmc/core/core.c, bus.c, sdio.c, host/sdhci.c, sdhci-pci-core.c, sdhci-pci-o2micro.c, cqhci-core.c, rtsx_pci_sdmmc.c; misc/cardreader/rtsx_pcr.c
_READERS: Final[list[Sourced]] = [
    (3, "host bus/timeout", "mmc0", "fault", "mmc0: cqhci: CQE stuck on"),
    (3, "host bus/timeout", "mmc0", "fault", "mmc0: cqhci: CQE failed to exit halt state"),
    (5, "timeout", "mmc0", "either", "mmc0: running CQE recovery"),
    (4, "protocol/other/host bus", "mmc0", "either", "mmc0: cqhci: spurious TCN for tag 3"),
    (4, "host bus/timeout/link/other", "mmc1", "either", "mmc1: Card Detect debounce never finished."),
    (4, "power/host bus/link/other", "mmc1", "either", "mmc1: 1.8V regulator output did not become stable"),
    (4, "", "*", "quiet", "mmc1: Switching to 1.8V signalling voltage failed"),
    (4, "", "*", "quiet", "mmc1: Skipping voltage switch"),
    (3, "", "*", "quiet", "mmc0: Hardware doesn't specify timeout clock frequency."),
    (3, "protocol", "mmc0", "fault", "mmc0: Got data interrupt 0x00000002 even though no data operation was in progress."),
    (4, "timeout/link", "mmc1", "either", "mmc1: error -110 during resume (card was removed?)"),
    (4, "timeout", "mmc1", "either", "mmc1: tried to SW reset card, got error -110"),
    (3, "host bus/link/protocol", "mmc1", "either", "mmc1: o2 dll recovery failed"),
    (3, "link", "rtsx_pci_sdmmc.0", "either", "rtsx_pci_sdmmc rtsx_pci_sdmmc.0: phase error: [map:0]"),
    (3, "", "*", "quiet", "mmc1: asked for transfer of 524288 bytes exceeds bounce buffer 65536 bytes"),
    (3, "", "*", "quiet", "sdhci-pci 0000:00:1a.0: MXFQ not found in acpi table"),
    (3, "power/host bus/other/protocol", "0000:00:1a.0", "either", "sdhci-pci 0000:00:1a.0: Failure enabling card power"),
    (4, "", "*", "quiet", "mmc1: pending IRQ with no handler"),
    (3, "protocol/timeout/host bus/other", "0000:02:00.0", "either", "rtsx_pci 0000:02:00.0: Get SSC clock failed"),
]

# drivers/acpi/apei/ghes.c, erst.c, acpi_fpdt.c, dock.c, bus.c, battery.c, thermal.c; drivers/thermal/intel/therm_throt.c
_FIRMWARE: Final[list[Sourced]] = [
    (4, "", "*", "quiet", "GHES: Failed to read error status block address for hardware error source: 1."),
    (4, "", "*", "quiet", "GHES: Generic hardware error source: 3 notified via NMI interrupt is not supported!"),
    (3, "", "*", "quiet", "ERST: ERST table is invalid."),
    (4, "", "*", "quiet", "ACPI FPDT: Duplicate resume performance record found."),
    (3, "", "*", "quiet", "ACPI: \\_SB_.PCI0.LPCB.DOCK: Failed to execute _DCK (0x300b)"),
    (6, "", "*", "quiet", "ACPI: battery: Slot [BAT1] (battery absent)"),
    (4, "firmware/thermal", "*", "either", "ACPI: thermal: [Firmware Bug]: Invalid critical threshold (-274000)"),
    (4, "thermal", "*", "fault", "CPU4: Package temperature is above threshold, cpu clock is throttled (total events = 17)"),
    (2, "thermal", "*", "fault", "mce: CPU2: Core temperature is above threshold, cpu clock is throttled (total events = 3)"),
    (6, "", "*", "quiet", "CPU4: Package temperature/speed normal"),
]

# drivers/net/wireless/intel/iwlwifi/{pcie/tx-gen2.c,pcie/drv.c,mvm/d3.c,dvm/eeprom.c,dvm/ucode.c,mvm/tt.c,fw/dump.c,iwl-drv.c,mvm/mld-mac80211.c}
_INTEL_RADIOS: Final[list[Sourced]] = [
    (3, "protocol/host bus", "0000:00:14.3", "either", "iwlwifi 0000:00:14.3: Tx queue init failed"),
    (3, "host bus/protocol/timeout", "0000:03:00.0", "either", "iwlwifi 0000:03:00.0: Failed to acquire EEPROM semaphore."),
    (3, "timeout", "0000:00:14.3", "fault", "iwlwifi 0000:00:14.3: Timed out waiting for HW restart!"),
    (3, "protocol/link", "0000:00:14.3", "either", "iwlwifi 0000:00:14.3: Error sending SCAN_CFG_CMD: enqueue_hcmd failed: -5"),
    (4, "timeout", "0000:03:00.0", "fault", "iwlwifi 0000:03:00.0: Could not complete ALIVE transition: -110"),
    (3, "", "*", "quiet", "iwlwifi 0000:00:14.3: 0x004CFC20 | umac data1"),
    (3, "", "*", "quiet", "iwlwifi 0000:00:14.3: 0x00000000 | tcm interruptlink1"),
    (3, "protocol/other", "0000:00:14.3", "either", "iwlwifi 0000:00:14.3: failed to update MAC aa:bb:cc:dd:ee:ff"),
    (3, "host bus/protocol", "0000:03:00.0", "either", "iwlwifi 0000:03:00.0: OTP with bad signature: 0x00000000"),
    (3, "", "*", "quiet", "iwlwifi 0000:00:14.3: Invalid DTS_MEASUREMENT_NOTIFICATION"),
    (3, "", "*", "quiet", "iwlwifi 0000:00:14.3: WRT: Invalid time point 5 for host command TLV"),
    (3, "", "*", "quiet", "iwlwifi: No config found for PCI dev 51f0/0090, rev=0x370, rfid=0x10a100"),
    (3, "thermal/other/protocol", "0000:00:14.3", "either", "iwlwifi 0000:00:14.3: Enter CT Kill"),
    (3, "firmware", "0000:00:14.3", "either", "iwlwifi 0000:00:14.3: File size too small!"),
]

# drivers/net/wireless/ath/{ath10k/pci.c,bmi.c,htc.c,htt_rx.c,wmi-tlv.c;ath11k/core.c,dp_rx.c,wow.c;ath12k/qmi.c,dp_rx.c,acpi.c}
_ATHEROS: Final[list[Sourced]] = [
    (4, "timeout/host bus", "0000:02:00.0", "fault", "ath10k_pci 0000:02:00.0: failed to cold reset: -110"),
    (3, "timeout", "0000:02:00.0", "fault", "ath11k_pci 0000:02:00.0: failed to connect to HTT: -110"),
    (3, "timeout", "0000:02:00.0", "fault", "ath11k_pci 0000:02:00.0: failed to receive wmi service ready event: -110"),
    (4, "protocol", "0000:02:00.0", "either", "ath11k_pci 0000:02:00.0: failed to setup rxdma ring"),
    (4, "timeout", "0000:02:00.0", "either", "ath12k_pci 0000:02:00.0: qmi failed to respond memory request, err = -110"),
    (3, "firmware", "0000:02:00.0", "either", "ath12k_pci 0000:02:00.0: failed to load m3 firmware: -2"),
    (4, "", "*", "quiet", "ath10k_pci 0000:02:00.0: received out of range peer_id 65535 tid 16"),
    (4, "protocol/other", "0000:02:00.0", "either", "ath10k_pci 0000:02:00.0: failed to parse tlv: -22"),
    (4, "host bus/protocol/timeout", "0000:02:00.0", "fault", "ath10k_pci 0000:02:00.0: unable to read from the device"),
    (4, "timeout/protocol/other", "0000:02:00.0", "either", "ath11k_pci 0000:02:00.0: failed to flush rx tid hw desc, tid 0 status 1"),
    (4, "", "*", "quiet", "ath11k_pci 0000:02:00.0: Invalid HT mcs 255 nss 1 peer stats"),
    (4, "protocol/other", "0000:02:00.0", "either", "ath12k_pci 0000:02:00.0: failed to parse rx error in wbm_rel ring desc -22"),
    (4, "timeout", "0000:02:00.0", "either", "ath11k_pci 0000:02:00.0: failed to suspend hif: -110"),
    (4, "", "*", "quiet", "ath12k_pci 0000:02:00.0: unknown acpi notify 1"),
    (4, "protocol/link/host bus", "0000:02:00.0", "either", "ath10k_pci 0000:02:00.0: HTC rx frame too long, len: 65535"),
]

# drivers/net/wireless/realtek/{rtw88/ps.c,fw.c,main.c,coex.c,wow.c,rtw8723x.c;rtw89/pci.c,fw.c,efuse_be.c,phy.c}
_REALTEK: Final[list[Sourced]] = [
    (3, "timeout/protocol/host bus", "0000:02:00.0", "either", "rtw_8822ce 0000:02:00.0: failed to leave ips state"),
    (3, "protocol", "0000:02:00.0", "either", "rtw_8822ce 0000:02:00.0: failed to write data to rsvd page"),
    (3, "timeout/protocol/host bus", "0000:02:00.0", "either", "rtw89_8852be 0000:02:00.0: rxdma ch busy"),
    (3, "timeout/protocol/host bus", "0000:02:00.0", "either", "rtw89_8852be 0000:02:00.0: [ERR]mdio_w16_pcie 6A"),
    (3, "protocol/host bus", "0000:02:00.0", "either", "rtw89_8852be 0000:02:00.0: [ERR]pwr is off"),
    (3, "firmware/protocol", "0000:02:00.0", "either", "rtw89_8852be 0000:02:00.0: fw checksum fail"),
    (3, "firmware", "0000:02:00.0", "either", "rtw_8822ce 0000:02:00.0: failed to async firmware request"),
    (4, "protocol", "0000:02:00.0", "either", "rtw89_8922ae 0000:02:00.0: failed to dump phycap map"),
    (4, "protocol/other", "0000:02:00.0", "either", "rtw89_8922ae 0000:02:00.0: failed to parse efuse logic block 1"),
    (3, "protocol", "0000:02:00.0", "either", "rtw89_8852ae 0000:02:00.0: failed to send h2c"),
    (3, "timeout", "0000:02:00.0", "either", "rtw_8723de 0000:02:00.0: coex request time out"),
    (3, "timeout", "0000:02:00.0", "either", "rtw_8723de 0000:02:00.0: failed to poll LCK status bit"),
    (3, "timeout/protocol/host bus", "0000:02:00.0", "either", "rtw_8822ce 0000:02:00.0: failed to stop rx dma"),
    (4, "", "*", "quiet", "rtw_8822ce 0000:02:00.0: unhandled firmware c2h interrupt"),
    (4, "", "*", "quiet", "rtw89_8852be 0000:02:00.0: Unknown band 3 channel 5"),
]

# drivers/net/wireless/mediatek/{mt76/mt7615/mcu.c,mt7921/mcu.c,mt7925/mcu.c,mt7601u/init.c,dma.c}; broadcom/brcm80211/brcmfmac/{cfg80211.c,msgbuf.c}; drivers/bluetooth/{btusb.c,btbcm.c}, net/bluetooth/hci_codec.c
_OTHER_RADIOS: Final[list[Sourced]] = [
    (3, "firmware/other/protocol", "0000:02:00.0", "either", "mt7921e 0000:02:00.0: Invalid CLC record"),
    (3, "firmware", "0000:02:00.0", "either", "mt7925e 0000:02:00.0: Invalid firmware"),
    (3, "timeout/protocol", "0000:02:00.0", "fault", "mt7615e 0000:02:00.0: Timeout for initializing firmware"),
    (3, "protocol", "0000:02:00.0", "either", "mt7615e 0000:02:00.0: Download request failed"),
    (3, "protocol/host bus/timeout", "1-3", "either", "mt7601u 1-3:1.0: Error: PLL and XTAL check failed!"),
    (3, "link", "1-3", "either", "mt7601u 1-3:1.0: rx urb failed: -71"),
    (3, "protocol/other", "brcmfmac", "either", "brcmfmac: brcmf_msgbuf_get_pktid: Invalid packet id 273 (not in use)"),
    (3, "timeout", "phy0", "either", "ieee80211 phy0: brcmf_cfg80211_connect: WLC_SET_SSID failed (-110)"),
    (3, "protocol/other", "phy0", "either", "ieee80211 phy0: brcmf_cfg80211_get_tx_power: error (-52)"),
    (3, "host bus/link/protocol/other", "hci0", "either", "Bluetooth: hci0: urb 00000000a8b2c3d1 failed to resubmit (113)"),
    (3, "host bus/link/protocol/other", "hci0", "either", "Bluetooth: hci0: urb 00000000a8b2c3d1 submission failed (90)"),
    (3, "link", "hci0", "either", "Bluetooth: hci0: corrupted SCO packet"),
    (3, "timeout", "hci0", "either", "Bluetooth: hci0: CSR: Local version failed (-110)"),
    (3, "", "*", "quiet", "Bluetooth: hci0: Reset qca device via bt_en gpio"),
    (3, "protocol/timeout", "hci0", "either", "Bluetooth: hci0: last reset failed? Not resetting again"),
    (3, "firmware", "hci0", "either", "Bluetooth: hci0: failed to request NVM file: qca/nvm_usb_00000302.bin (-2)"),
    (3, "", "*", "quiet", "Bluetooth: hci0: rampatch file version did not match with firmware"),
    (3, "timeout", "hci0", "fault", "Bluetooth: hci0: Failed to send body at 4096 of 66584 (-110)"),
    (3, "timeout", "hci0", "fault", "Bluetooth: hci0: BCM: Reading device address failed (-110)"),
    (3, "protocol", "hci0", "fault", "Bluetooth: hci0: RTL: hw err, trigger devcoredump (1)"),
    (3, "", "*", "quiet", "Bluetooth: hci0: Failed to read local supported codecs (-56)"),
]

# drivers/gpu/drm/i915/{intel_uncore.c,gt/intel_execlists_submission.c,display/*.c,pxp/intel_pxp_huc.c}; xe/{xe_guc.c,xe_force_wake.c,xe_pcode.c}; display/drm_dp_helper.c, drm_dp_mst_topology.c
_INTEL_PICTURES: Final[list[Sourced]] = [
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* Driver-FLR-teardown wait completion failed! -110"),
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* engine 'rcs0' resumed still in error: 00000001"),
    (3, "link/graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* LSPCON mode change to PCON failed"),
    (3, "link/graphics/timeout", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* Timed out waiting for ACT sent"),
    (3, "graphics/host bus", "0000:00:02.0", "fault", "i915 0000:00:02.0: [drm] *ERROR* render: timed out waiting for forcewake ack to clear."),
    (3, "link/graphics/timeout/other", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* [CONNECTOR:247:DP-1] Failed to disable hdcp2.2 (-110)"),
    (3, "", "*", "quiet", "i915 0000:00:02.0: [drm] *ERROR* [PLANE:32:plane 1A] mismatch in WM0 (expected e=1 b=10 l=1, got e=1 b=12 l=1)"),
    (3, "graphics/firmware", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* Failed to send HuC load and auth command to GSC [-110]!"),
    (4, "link/graphics/timeout", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] Timeout waiting TC uC health"),
    (3, "graphics/link/timeout/power", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* TC cold unblock failed"),
    (3, "graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* Switching to FCLK failed"),
    (3, "graphics/host bus/timeout", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* timeout waiting for SBI to complete read"),
    (3, "graphics/link/other", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* Failed to initiate HDCP key load (-110)"),
    (3, "", "*", "quiet", "i915 0000:00:02.0: [drm] *ERROR* Unknown operation byte"),
    (3, "graphics/firmware", "0000:00:02.0", "fault", "xe 0000:00:02.0: [drm] *ERROR* GT0: load failed: status = 0x40000056, time = 1003ms, freq = 2350MHz (req 2400MHz), done = -1"),
    (3, "graphics", "0000:00:02.0", "fault", "xe 0000:00:02.0: [drm] *ERROR* GT0: GuC mmio request 0x4100: no reply 0x4100"),
    (3, "host bus", "0000:00:02.0", "fault", "xe 0000:00:02.0: [drm] *ERROR* GT0: Force wake domain 0: ack. MMIO unreliable (forcewake register returns 0xFFFFFFFF)!"),
    (3, "graphics", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] *ERROR* GT0: GuC suspend failed: -ETIMEDOUT"),
    (4, "graphics/timeout", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] PCODE timeout, retrying with preemption disabled"),
    (4, "", "*", "quiet", "xe 0000:00:02.0: [drm] GT0: excessive init time: 845ms! [status = 0x8002F034, timeouts = 0]"),
    (3, "firmware/graphics", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] *ERROR* GT0: firmware signature verification failed"),
    (3, "link", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* AUX A/DDI A/PHY A: DPCD failed read at register 0x202"),
    (3, "link/graphics", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* AUX A/DDI A/PHY A: Failed to write aux backlight level: -5"),
    (3, "link/timeout", "0000:04:00.0", "either", "amdgpu 0000:04:00.0: [drm] *ERROR* Failed to get ACT after 3000ms, last status: 00"),
]

# drivers/gpu/drm/amd/{amdgpu/mmhub_v2_0.c,gfx_v8_0.c,gmc_v9_0.c,psp_v11_0.c,sienna_cichlid.c,smu_v13_0_10.c;pm/swsmu}; nouveau/nvkm
_OTHER_PICTURES: Final[list[Sourced]] = [
    (3, "graphics", "0000:04:00.0", "either", "amdgpu 0000:04:00.0: amdgpu: MMVM_L2_PROTECTION_FAULT_STATUS:0x00301031"),
    (3, "", "*", "quiet", "amdgpu 0000:04:00.0: amdgpu: \t MAPPING_ERROR: 0x0"),
    (3, "", "*", "quiet", "amdgpu 0000:04:00.0: amdgpu: \t Faulty UTCL2 client ID: TCP (0x8)"),
    (3, "graphics", "amdgpu", "either", "[drm:gfx_v8_0_hw_fini [amdgpu]] *ERROR* KCQ disable failed"),
    (0, "thermal/graphics", "0000:04:00.0", "fault", "amdgpu 0000:04:00.0: amdgpu: ERROR: System is going to shutdown due to GPU HW CTF!"),
    (3, "graphics/timeout", "0000:04:00.0", "either", "amdgpu 0000:04:00.0: amdgpu: Timeout waiting for sem acquire in VM flush!"),
    (3, "graphics", "0000:04:00.0", "fault", "amdgpu 0000:04:00.0: amdgpu: ASIC reset failed with error, -62 for drm dev, 0000:04:00.0"),
    (3, "graphics/thermal", "0000:04:00.0", "either", "amdgpu 0000:04:00.0: amdgpu: Failed to enable thermal alert!"),
    (3, "graphics", "0000:04:00.0", "fault", "amdgpu 0000:04:00.0: amdgpu: late_init of IP block <gfx_v10_0> failed -62 after reset"),
    (3, "graphics", "amdgpu", "either", "[drm:psp_v11_0_memory_training [amdgpu]] *ERROR* Send long training msg failed."),
    (3, "graphics", "0000:01:00.0", "either", "nouveau 0000:01:00.0: gr: TRAP_MP_EXEC - TP 0: No MPs claiming errors?"),
    (3, "graphics", "0000:01:00.0", "either", "nouveau 0000:01:00.0: fifo: fault 01 [WRITE] at 0000000000000000 engine 00 [GR] client 0f [GPC0/PROP] reason 02 [PTE] on channel 2 [007fa0f000 X[1234]]"),
    (3, "graphics", "0000:01:00.0", "either", "nouveau 0000:01:00.0: fifo: PBDMA0: 04000000 [] ch 2 [007f9f0000 Xorg[1]] subc 0 mthd 0000 data 00000000"),
    (3, "", "*", "quiet", "nouveau 0000:01:00.0: volt: couldn't find speedo value, volting not possible"),
    (4, "firmware", "0000:01:00.0", "either", "nouveau 0000:01:00.0: acr: firmware unavailable"),
    (3, "graphics", "0000:01:00.0", "either", "nouveau 0000:01:00.0: gr: idle timed out with status 00000001"),
    (3, "graphics", "0000:01:00.0", "either", "nouveau 0000:01:00.0: sec2: preinit failed, -110"),
]

# sound/hda/hdac_controller.c; sound/pci/hda/{hda_codec.c,patch_hdmi.c,patch_cs8409.c,patch_ca0132.c}; sound/soc/sof/{core.c,ipc3.c,intel/*.c,amd/acp.c}; drivers/soundwire/bus.c
_SOUNDS: Final[list[Sourced]] = [
    (3, "host bus/timeout", "0000:00:1f.3", "fault", "snd_hda_intel 0000:00:1f.3: CORB reset timeout#1, CORBRP = 0"),
    (3, "", "*", "quiet", "snd_hda_intel 0000:00:1f.3: spurious response 0x0:0x2, last cmd=0x1f0500"),
    (3, "", "*", "quiet", "snd_hda_codec_generic hdaudioC0D2: Too many connections 33 for NID 0x10"),
    (4, "", "*", "quiet", "snd_hda_codec_hdmi hdaudioC0D2: HDMI: pin NID 0x5 not registered"),
    (4, "protocol/other", "hdaudioC0D2", "either", "snd_hda_codec_hdmi hdaudioC0D2: HDMI: failed to get afg sub nodes"),
    (3, "protocol/link", "hdaudioC0D0", "either", "snd_hda_codec_cs8409 hdaudioC0D0: I2C Bulk Write Failed 0x48"),
    (3, "timeout", "hdaudioC0D0", "either", "snd_hda_codec_cs8409 hdaudioC0D0: Timeout waiting for PDN_DONE for CS42L42"),
    (3, "protocol/firmware", "hdaudioC1D0", "either", "snd_hda_codec_ca0132 hdaudioC1D0: ca0132 DSP load image failed"),
    (3, "protocol/timeout", "0000:00:1f.3", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: error: power up core failed core_mask 1adspcs 0xff"),
    (3, "protocol", "0000:00:1f.3", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: error: dsp core reset failed: core_mask 1"),
    (3, "protocol/link", "0000:00:1f.3", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: error: failed to boot DSP firmware -5"),
    (3, "protocol", "0000:00:1f.3", "either", "sof-audio-pci-intel-cnl 0000:00:1f.3: reply size (16) exceeds the buffer size (12)"),
    (3, "timeout", "0000:00:1f.3", "either", "sof-audio-pci-intel-skl 0000:00:1f.3: Core En/ROM load fail:-110"),
    (3, "", "*", "quiet", "sof-audio-pci-intel-tgl 0000:00:1f.3: error: no matching ASoC machine driver found - aborting probe"),
    (3, "protocol", "0000:00:1f.3", "either", "sof-audio-pci-intel-mtl 0000:00:1f.3: dsp core 0/1 power up failed"),
    (3, "timeout", "0000:00:1f.3", "either", "sof-audio-pci-intel-mtl 0000:00:1f.3: timeout waiting for purge IPC done"),
    (3, "firmware/protocol", "0000:03:00.5", "either", "snd_sof_amd_renoir 0000:03:00.5: PSP validation failed: fw_qualifier = 0x1, ACP_SHA_PSP_ACK = 0x0"),
    (3, "protocol/link", "sdw:0:0:025d:0711:01", "either", "rt711-sdca sdw:0:0:025d:0711:01: SDW_SCP_INTMASK1 write failed:-61"),
]

# drivers/i2c/busses/i2c-designware-amdpsp.c, i2c-core-base.c; drivers/hid/{hid-rmi.c,hid-alps.c,wacom_sys.c,hid-multitouch.c}; input/{rmi4/rmi_smbus.c,mouse/synaptics.c,mouse/elan_i2c_core.c,keyboard/atkbd.c,touchscreen/elants_i2c.c}
_INPUTS: Final[list[Sourced]] = [
    (3, "timeout", "AMDI0019:00", "either", "i2c_designware AMDI0019:00: Timed out waiting for PSP to acquire I2C bus"),
    (3, "link", "0018:06CB:76AD.0001", "either", "hid-rmi 0018:06CB:76AD.0001: failed to write request output report (-121)"),
    (3, "timeout", "0018:044E:121F.0001", "either", "hid-alps 0018:044E:121F.0001: failed U1_NUM_SENS_Y (-110)"),
    (4, "", "*", "quiet", "wacom 0003:056A:033B.0004: Using device in hidraw-only mode"),
    (3, "", "*", "quiet", "i2c i2c-5: adapter quirk: no zero length (addr 0x0050, size 0, read)"),
    (3, "host bus/link/protocol", "0-002c", "either", "rmi4_smbus 0-002c: failed to register sensor: -6"),
    (3, "link/protocol", "serio1", "either", "psmouse serio1: synaptics: Unable to query device: -5"),
    (4, "", "*", "quiet", "atkbd serio0: Use 'setkeycodes 71 <keycode>' to make it known."),
    (3, "protocol/link", "0-0015", "either", "elan_i2c 0-0015: invalid report id data (ff)"),
    (3, "link/protocol", "0-0015", "either", "elan_i2c 0-0015: failed to reset device: -121"),
    (3, "protocol", "i2c-ELAN900C:00", "either", "elants_i2c i2c-ELAN900C:00: (hello) unexpected packet: 00 00 00 00"),
    (4, "", "*", "quiet", "hid-multitouch 0018:04F3:2A8C.0001: ignoring exceeding usage max"),
]

# drivers/platform/x86/{thinkpad_acpi.c,acer-wmi.c,toshiba_acpi.c,amd/pmc}; drivers/thermal/intel/int340x_thermal; drivers/misc/mei; drivers/char/tpm/{tpm_crb.c,tpm_tis_i2c_cr50.c}; drivers/watchdog/watchdog_core.c; drivers/hwmon/k10temp.c; drivers/media/usb/uvc/uvc_video.c; drivers/spi/spi-intel.c
_BOARD: Final[list[Sourced]] = [
    (3, "", "*", "quiet", "thinkpad_acpi: failed to restore hot key mask to BIOS defaults"),
    (4, "", "*", "quiet", "acer_wmi: Enabling RF Button failed: 0x1 - 0xff"),
    (3, "", "*", "quiet", "toshiba_acpi: ACPI call to get Video-Out failed"),
    (3, "", "*", "quiet", "amd_pmc AMDI0005:00: SMU not ready. err: 0xff"),
    (4, "", "*", "quiet", "acpi_thermal_rel: Failed to get target ACPI device"),
    (3, "", "*", "quiet", "mei_me 0000:00:16.0: wait hw ready failed"),
    (4, "", "*", "quiet", "mei_me 0000:00:16.0: unexpected reset: fw_pm_event = 0x0, dev_state = 6 fw status = 90000245 00110500 00000020 00000000 02F41F03 40000000"),
    (3, "", "*", "quiet", "mei mei::55213584-9a29-4916-badf-0fb7ed682aeb:01: Could not read IF version ret = -110"),
    (4, "timeout", "MSFT0101:00", "either", "tpm_crb MSFT0101:00: cmdReady timed out"),
    (3, "timeout", "i2c-GOOG0005:00", "either", "tpm_tis_i2c_cr50 i2c-GOOG0005:00: Timeout reading burst and status"),
    (3, "", "*", "quiet", "watchdog: iTCO_wdt: falling back to default timeout (30)"),
    (4, "", "*", "quiet", "k10temp 0000:00:18.3: unreliable CPU thermal sensor; check erratum 319"),
    (3, "timeout", "1-5", "either", "uvcvideo 1-5:1.1: Failed to query (129) UVC probe control : -110 (exp. 48)."),
    (3, "", "*", "quiet", "uvcvideo 1-5:1.1: Failed to submit URB 0 (-28)."),
    (3, "", "*", "quiet", "intel-spi 0000:00:1f.5: descriptor signature not valid"),
]

# drivers/net/ethernet/realtek/r8169_main.c, intel/igc/igc_main.c; drivers/net/usb/r8152.c
_WIRED: Final[list[Sourced]] = [
    (3, "host bus", "0000:02:00.0", "either", "r8169 0000:02:00.0: PCI read failed"),
    (3, "host bus/protocol/link", "0000:02:00.0", "either", "r8169 0000:02:00.0 enp2s0: PCI error (cmd = 0x0147, status_errs = 0x8000)"),
    (6, "link/other", "0000:02:00.0", "either", "r8169 0000:02:00.0 enp2s0: Rx ERROR. status = 3529c123"),
    (4, "host bus", "0000:02:00.0", "fault", "r8169 0000:02:00.0 enp2s0: Can't reset secondary PCI bus, detach NIC"),
    (4, "", "*", "quiet", "r8169 0000:02:00.0: can't read MAC address, setting random one"),
    (3, "host bus/link", "0000:03:00.0", "fault", "igc 0000:03:00.0 enp3s0: PCIe link lost, device now detached"),
    (4, "link", "0000:03:00.0", "either", "igc 0000:03:00.0 enp3s0: Link Speed was downgraded by SmartSpeed"),
    (3, "host bus/protocol", "0000:03:00.0", "either", "igc 0000:03:00.0: Cannot enable PCI device from suspend"),
    (3, "protocol/host bus", "0000:03:00.0", "either", "igc 0000:03:00.0 enp3s0: Error on hardware initialization"),
    (3, "timeout", "2-1", "either", "r8152 2-1:1.0: ram code speedup mode timeout"),
    (4, "firmware", "2-1", "either", "r8152 2-1:1.0: unable to load firmware patch rtl_nic/rtl8153b-2.fw (-2)"),
]

# kernel/cpu.c, watchdog.c, hung_task.c; arch/x86/kernel/{check.c,msr.c,cpu/amd.c,cpu/mtrr/generic.c,cpu/mce/core.c}; mm/{page_poison.c,swapfile.c,memory.c}; drivers/iommu/{intel/iommu.c,amd/iommu.c}; drivers/edac/i10nm_base.c
_PROCESSOR: Final[list[Sourced]] = [
    (3, "other/machine check", "*", "either", "CPU3 failed to report alive state"),
    (3, "other/machine check/firmware", "*", "either", "Corrupted low memory at 00000000c4f6a000 (f000 phys) = 00000400"),
    (3, "other/machine check/firmware", "*", "either", "Memory corruption detected in low memory"),
    (3, "other/machine check", "*", "either", "pagealloc: memory corruption"),
    (3, "other", "*", "fault", "get_swap_device: Bad swap file entry 3ffffffffffff"),
    (1, "other", "*", "fault", "BUG: Bad page map in process firefox  pte:8000000123456225 pmd:12345067"),
    (0, "other", "*", "fault", "watchdog: BUG: soft lockup - CPU#2 stuck for 26s! [kworker/2:1:1234]"),
    (3, "other", "*", "either", "INFO: task jbd2/sda2-8:317 blocked for more than 120 seconds."),
    (4, "", "*", "quiet", "msr: Write to unrecognized MSR 0x610 by powertool (pid: 1234)."),
    (3, "firmware", "*", "either", "[Firmware Bug]: TSC doesn't count with P0 frequency!"),
    (4, "", "*", "quiet", "mtrr: your CPUs had inconsistent variable MTRR settings"),
    (0, "machine check", "*", "fault", "mce: [Hardware Error]: Machine check: Processor context corrupt"),
    (3, "", "*", "quiet", "mce: Unable to init MCE device (rc: -19)"),
    (4, "", "*", "quiet", "DMAR: ACPI name space devices didn't probe correctly"),
    (3, "host bus", "*", "either", "iommu ivhd0: AMD-Vi: Event logged [COMMAND_HARDWARE_ERROR address=0x100a5f7f0 flags=0x0000]"),
    (3, "host bus/timeout", "*", "fault", "AMD-Vi: Command buffer timeout"),
    (3, "host bus", "0000:04:00.0", "either", "iommu ivhd0: AMD-Vi: Event logged [INVALID_PPR_REQUEST device=0000:04:00.0 pasid=0x00000 address=0xfffffffdf8000000 flags=0x0a00 tag=0x000]"),
    (3, "", "*", "quiet", "EDAC i10nm: Failed to get mc0 bar"),
]

# fs/ext4/{ialloc.c,super.c,page-io.c}, jbd2/recovery.c; btrfs/{zstd.c,direct-io.c,extent-tree.c,qgroup.c}; xfs/{xfs_log_recover.c,libxfs/xfs_ialloc.c,xfs_sb.c}; fat/inode.c; drivers/md/{raid10.c,dm-integrity.c}
_FILES: Final[list[Sourced]] = [
    (2, "other/medium", "sda2", "either", "EXT4-fs error (device sda2): ext4_read_inode_bitmap:201: comm ls: Cannot read inode bitmap - block_group = 5, inode_bitmap = 1064"),
    (4, "other/medium", "sda2", "either", "EXT4-fs warning (device sda2): ext4_end_bio:343: I/O error 10 writing to inode 131 starting block 34816)"),
    (3, "other", "sda2", "either", "EXT4-fs (sda2): can't read group descriptor 12"),
    (3, "", "*", "quiet", "EXT4-fs (sda2): VFS: Can't find ext4 filesystem"),
    (3, "other", "*", "either", "JBD2: bad block at offset 1234"),
    (3, "other", "nvme0n1p3", "either", "BTRFS error (device nvme0n1p3): zstd decompression failed, error -22 root 5 inode 257 offset 4096"),
    (3, "", "*", "quiet", "BTRFS error (device sda3): qgroup scan failed with -4"),
    (4, "other/medium", "sda3", "either", "BTRFS warning (device sda3): direct IO failed ino 257 op 0x0 offset 0x1000 len 4096 err no 10"),
    (3, "other", "sda3", "either", "BTRFS error (device sda3): failed to run delayed ref for logical 30408704 num_bytes 16384 type 176 action 1 ref_mod 1: -117"),
    (4, "other", "sda2", "either", "XFS (sda2): dirty log entry has mismatched uuid - can't recover"),
    (4, "other", "sda2", "either", "XFS (sda2): inobt record corruption in AG 2 detected at xfs_inobt_check_irec+0x5c/0xa0!"),
    (3, "", "*", "quiet", "FAT-fs (sda1): bogus number of FAT structure"),
    (3, "other", "sdb1", "either", "FAT-fs (sdb1): error, corrupted directory (invalid entries)"),
    (4, "", "*", "quiet", "FAT-fs (sda1): Volume was not properly unmounted. Some data may be corrupt. Please run fsck."),
    (2, "other/medium", "*", "either", "md/raid10:md127: sdb2: unrecoverable I/O read error for block 1234"),
    (3, "other/medium", "*", "either", "device-mapper: integrity: asynchronous dm_io failed: -5"),
]

# fmt: on

FIRST: Final = [
    *_DRIVES, *_DISKS, *_PORTS, *_CONTROLLERS, *_SLOTS, *_READERS, *_FIRMWARE, *_INTEL_RADIOS,
    *_ATHEROS, *_REALTEK, *_OTHER_RADIOS, *_INTEL_PICTURES, *_OTHER_PICTURES, *_SOUNDS, *_INPUTS,
    *_BOARD, *_WIRED, *_PROCESSOR, *_FILES,
]  # fmt: skip
