# ruff: noqa: E501 (the kernel's lines are as long as they are)
"""More messages of Linux 6.12 modules drawn by lot, most of them by words of a failing device.

Filled in and judged as those of ``kernel_lines_source_newer`` were, after the program had been
worked on with one half of what it missed there, and before it was shown any of these.
"""

from __future__ import annotations

from typing import Final

from tests.kernel_lines_source import Sourced

# fmt: off

# drivers/net/wireless, drivers/bluetooth, drivers/bus/mhi
_AIR: Final[list[Sourced]] = [
    (3, "protocol/firmware", "0000:02:00.0", "fault", "ath10k_pci 0000:02:00.0: device has crashed during init"),
    (3, "timeout", "0000:02:00.0", "either", "ath10k_pci 0000:02:00.0: timeout while reading device EEPROM at 0010"),
    (3, "timeout", "0000:02:00.0", "either", "ath10k_pci 0000:02:00.0: ctl_resp never came in (-110)"),
    (4, "", "*", "quiet", "ath10k_pci 0000:02:00.0: timed out waiting for offchannel skb 00000000f3a1c2d4, len: 128"),
    (4, "timeout", "0000:01:00.0", "either", "ath11k_pci 0000:01:00.0: failed to receive scan abort comple: timed out"),
    (4, "protocol/firmware", "0000:01:00.0", "fault", "ath11k_pci 0000:01:00.0: firmware crashed: MHI_CB_EE_RDDM"),
    (4, "protocol/firmware", "0000:01:00.0", "fault", "ath11k_pci 0000:01:00.0: firmware crashed: MHI_CB_SYS_ERROR"),
    (3, "", "*", "quiet", "ath11k_pci 0000:01:00.0: failed to allocate workqueue"),
    (3, "", "*", "quiet", "ath12k_pci 0000:01:00.0: failed to build regd from reg_info"),
    (3, "protocol/host bus/timeout", "phy0", "either", "ath: phy0: Unable to reset channel, reset status -5"),
    (3, "timeout", "*", "fault", "brcmfmac: brcmf_sdio_htclk: HT Avail timeout (1000000): clkctl 0x50"),
    (3, "", "*", "quiet", "rtw88_8822ce 0000:02:00.0: alloc_workqueue rtw_tx_wq failed"),
    (4, "timeout", "0000:01:00.0", "either", "rtw89_8852be 0000:01:00.0: [ERR]set cpuio wd timeout"),
    (4, "timeout/protocol/other", "0000:01:00.0", "either", "rtw89_8852be 0000:01:00.0: h2c_lps_ch_info done polling timeout"),
    (4, "timeout", "0000:01:00.0", "either", "rtw89_8852be 0000:01:00.0: timed out to flush pci txch: 0"),
    (4, "", "*", "quiet", "rtw89_8852be 0000:01:00.0: wow: failed to disable arp offload"),
    (3, "timeout", "0000:01:00.0", "fault", "mt7925e 0000:01:00.0: Message 00020003 (seq 7) timeout"),
    (3, "timeout/host bus/protocol", "0000:01:00.0", "either", "mt7925e 0000:01:00.0: wed reset complete timeout"),
    (3, "firmware", "0000:01:00.0", "either", "mt7925e 0000:01:00.0: Invalid firmware region"),
    (3, "protocol/firmware", "0000:01:00.0", "fault", "mt7921e 0000:01:00.0: Failed to start patch"),
    (3, "", "*", "quiet", "mwifiex_pcie 0000:02:00.0: num_data_h2c_failure = 0"),
    (3, "", "*", "quiet", "mwifiex_pcie 0000:02:00.0: No response buffer available, send command failed"),
    (3, "protocol/host bus/timeout", "1-4", "either", "usb 1-4: rtl8xxxu_init_device: LLT table init failed"),
    (3, "", "*", "quiet", "rtl_pci: switch case 0x2a not processed"),
    (3, "firmware/protocol", "mhi0", "either", "mhi mhi0: MHI did not load AMSS, ret:-5"),
    (3, "timeout", "hci0", "fault", "Bluetooth: hci0: command tx timeout"),
    (3, "timeout", "hci0", "fault", "Bluetooth: hci0: Device boot timeout"),
    (3, "link/protocol", "hci0", "either", "Bluetooth: hci0: Received corrupted packet. type: 0x04"),
    (3, "timeout", "hci0", "fault", "Bluetooth: hci0: Execution of wmt command timed out"),
    (3, "", "*", "quiet", "Bluetooth: hci0: changing Mediatek device address failed (-22)"),
    (3, "firmware", "hci0", "either", "Bluetooth: hci0: BCM: Patch is corrupted"),
    (3, "firmware/other", "hci0", "either", "Bluetooth: hci0: RTL: didn't find patch for chip id 3"),
    (3, "timeout/protocol", "hci0", "either", "Bluetooth: hci0: RTL: download fw command failed (-110)"),
    (6, "", "*", "quiet", "wlp1s0: failed to finalize CSA on link 0, disconnecting"),
]

# drivers/gpu/drm
_PICTURES: Final[list[Sourced]] = [
    (3, "graphics/link/timeout", "0000:00:02.0", "either", "i915 0000:00:02.0: [drm] *ERROR* PSR wait timed out, atomic update may fail"),
    (3, "graphics", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] *ERROR* Fault errors on pipe A: 0x00000080"),
    (3, "graphics/timeout", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] *ERROR* GT0: TD flush timeout"),
    (3, "", "*", "quiet", "amdgpu 0000:04:00.0: amdgpu: Failed to setup default OD settings!"),
    (3, "", "*", "quiet", "intel_vpu 0000:00:0b.0: [drm] *ERROR* ivpu_hw_irq_wdt_nce_handler(): WDT NCE timeout detected"),
    (6, "", "*", "quiet", "amdgpu 0000:04:00.0: [drm] Failed to get a CRC: -22"),
]

# sound, drivers/soundwire
_SOUNDS: Final[list[Sourced]] = [
    (3, "timeout", "*", "either", "cs35l41-hda spi1-CSC3551:00-cs35l41-hda.0: Timeout waiting for HALO Core to start. State: 0"),
    (3, "timeout/protocol", "0000:00:1f.3", "either", "snd_soc_avs 0000:00:1f.3: cldma IOC timeout"),
    (4, "", "*", "quiet", "da7219 i2c-DLGS7219:00: Using default DAI clk names: da7219-dai-wclk, da7219-dai-bclk"),
    (6, "", "*", "quiet", "max98390 i2c-MX98390:00: no optional property 'r0_calib' found, default:"),
    (3, "timeout/protocol", "*", "either", "nau8825 i2c-10508825:00: Acquire semaphore timeout"),
    (3, "timeout", "*", "either", "snd_sof_amd_rembrandt 0000:03:00.5: timeout in releasing reset"),
    (3, "timeout", "0000:00:1f.3", "either", "sof-audio-pci-intel-mtl 0000:00:1f.3: timeout waiting for stream reset"),
    (3, "timeout", "1-2", "either", "usb 1-2: snd_usb_endpoint_start USB request timed out, cmd 1"),
    (3, "link", "*", "either", "rt1316-sdca sdw:0:1:025d:1316:01: Parity error detected"),
    (6, "", "*", "quiet", "soundwire sdw-master-0-1: skipping device, never detected on bus"),
    (3, "protocol", "0000:00:1f.3", "either", "snd_soc_avs 0000:00:1f.3: fwstatus: 0x05000001, fwerror: 0x0000006e"),
    (3, "link/protocol", "*", "either", "max98373 i2c-MX98373:00: Reset command failed. (ret:-121)"),
    (3, "link/protocol", "*", "either", "rt722-sdca sdw:0:0:025d:0722:01: IO error in rt722_sdca_jack_init, ret -121"),
    (3, "protocol/timeout/other", "0000:00:1f.3", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: kcontrol 3 read failed for widget PGA1.0"),
    (3, "protocol/other", "*", "either", "soundwire_intel soundwire_intel.link.2: cdns_init_clock_ctrl: config_update failed"),
    (4, "", "*", "quiet", "snd_hda_codec_realtek hdaudioC0D0: ALC287: picked no fixup (nofixup specified)"),
]

# drivers/hid, drivers/input, drivers/i2c, drivers/platform/chrome, drivers/platform/surface, drivers/power/supply, drivers/usb/typec
_HANDS: Final[list[Sourced]] = [
    (3, "link/protocol", "*", "either", "applespi spi-APP000D:00: Received corrupted packet (invalid message length 46 - num-fingers 3, tp-len 256)"),
    (3, "timeout/link/protocol", "0-0015", "either", "elan_i2c 0-0015: failed to calibrate. Timeout."),
    (3, "link/protocol", "0-0015", "either", "elan_i2c 0-0015: failed to read report data: -121"),
    (4, "firmware/protocol/other", "i2c-ELAN2097:00", "either", "elants_i2c i2c-ELAN2097:00: Recovery mode procedure"),
    (4, "protocol/other", "*", "either", "hid-multitouch 0018:04F3:2F2C.0001: Returned feature report did not match the request"),
    (3, "timeout", "*", "either", "hid-rmi 0018:06CB:76AD.0001: rmi_read_block: timeout elapsed"),
    (3, "", "*", "quiet", "hid-multitouch 0018:04F3:2F2C.0001: failed to allocate data for report"),
    (3, "", "*", "quiet", "intel_ish_ipc 0000:00:12.0: ISH loader: wait response of cmd 2 timeout"),
    (3, "", "*", "quiet", "intel_ish_ipc 0000:00:12.0: [ishtp-ish]: Timed out waiting for FW-initiated reset"),
    (4, "", "*", "quiet", "intel_ish_ipc 0000:00:12.0: corrupted message header."),
    (4, "link", "*", "either", "i801_smbus 0000:00:1f.4: Lost arbitration"),
    (3, "timeout", "*", "either", "piix4_smbus 0000:00:14.0: SMBus Timeout!"),
    (4, "", "*", "quiet", "i801_smbus 0000:00:1f.4: Clearing aux status flag CRCE"),
    (4, "timeout", "*", "either", "cros_ec_lpcs GOOG0004:00: EC response timed out"),
    (4, "", "*", "quiet", "cros-ec-sensorhub cros-ec-sensorhub.2.auto: Sensor 1: lost 3 samples when spreading"),
    (3, "protocol/other", "*", "either", "cros-usbpd-charger cros-usbpd-charger.3.auto: Unable to set the 'External Power Limit': -71"),
    (3, "link/protocol", "*", "either", "surface_serial_hub serial0-0: rx: parser: invalid payload CRC"),
    (3, "protocol/other", "*", "either", "surface_serial_hub serial0-0: D0-entry notification failed"),
    (3, "timeout", "*", "either", "bq27xxx-battery 2-0055: timed out waiting for cfgupdate flag 1"),
    (3, "link/protocol/other", "*", "either", "bq27xxx-battery 2-0055: bus error reading chip memory: -121"),
    (4, "power/other", "*", "either", "tps6598x i2c-INT3515:00: dead-battery condition"),
    (4, "", "*", "quiet", "ucsi_acpi USBC000:00: Early connector change event"),
    (3, "", "*", "quiet", "typec_fusb302 i2c-INT33FE:00: failed to request gpio_int_n"),
]

# drivers/mmc, drivers/nvme, drivers/ata, drivers/usb, drivers/pci, drivers/char/tpm, drivers/spi, drivers/thunderbolt
_STORES: Final[list[Sourced]] = [
    (5, "timeout/host bus/other/protocol", "mmc0", "either", "mmc0: cqhci: recovery needed"),
    (4, "timeout/host bus/other/protocol", "mmcblk0", "either", "mmcblk0: CQE recovery start"),
    (3, "timeout/link/protocol", "*", "either", "mmcblk0: cmd error -110"),
    (3, "link/timeout/protocol", "*", "either", "rtsx_pci_sdmmc rtsx_pci_sdmmc.0: rtsx_pci_send_cmd error (err = -110)"),
    (3, "link/protocol", "*", "either", "rtsx_usb_sdmmc rtsx_usb_sdmmc.2.auto: rtsx_usb_get_rsp failed (err = -71)"),
    (4, "protocol/timeout/other", "nvme0", "either", "nvme nvme0: ANATT timeout, resetting controller."),
    (4, "timeout/protocol/host bus", "nvme0", "either", "nvme nvme0: failed nvme_keep_alive_end_io error=10"),
    (4, "", "*", "quiet", "nvme nvme0: controller capabilities changed, reset may be required to take effect."),
    (4, "protocol/medium/other", "ata1.00", "either", "ata1.00: fault or invalid emulation. Contact drive vendor for information."),
    (3, "link", "ata3", "fault", "ata3: SError: { UnrecovData Handshk }"),
    (4, "link/protocol/timeout/other", "2-1", "either", "usb 2-1: stat urb: no pending cmd for uas-tag 7"),
    (3, "timeout", "1-3", "either", "usb 1-3: usb_control_msg timed out or killed on ep0out len=0/8"),
    (3, "", "*", "quiet", "usb 1-3: wrong descriptor type 00 for string 2 (\"\")"),
    (4, "host bus/timeout", "0000:00:14.0", "either", "xhci_hcd 0000:00:14.0: WARN: xHC restore state timeout"),
    (4, "", "*", "quiet", "xhci_hcd 0000:00:14.0: The device to be reset with slot ID 3 does not match the udev. Re-allocate the device"),
    (6, "", "*", "quiet", "vmd 0000:00:0e.0: VMD: Default LTR value set by driver"),
    (3, "timeout", "*", "either", "tpm_tis_spi spi0.0: Timeout waiting for TPM ready IRQ"),
    (3, "", "*", "quiet", "tpm_tis_spi spi0.0: Requesting IRQ 67 failed: -22"),
    (3, "timeout", "*", "either", "spi-nor spi0.0: flash operation timed out"),
]

# drivers/net/ethernet, drivers/net/usb, drivers/net/wwan, drivers/media, drivers/misc/mei, drivers/platform/x86, drivers/hwmon, drivers/edac
_REST: Final[list[Sourced]] = [
    (4, "host bus/protocol", "0000:03:00.0", "either", "alx 0000:03:00.0: fatal interrupt 0x4, resetting"),
    (3, "timeout/link/protocol", "1-2", "either", "asix 1-2:1.0 eth0: BMCR_RESET timeout on phy_id 16"),
    (3, "", "*", "quiet", "atlantic 0000:04:00.0 enp4s0: PTP Timeout. Clearing Tx Timestamp SKBs"),
    (3, "protocol/host bus/timeout/link", "0000:00:1f.6", "either", "e1000e 0000:00:1f.6 eno1: PHY appears hung - resetting"),
    (3, "timeout", "0000:56:00.0", "either", "igc 0000:56:00.0: Flash update time out"),
    (4, "timeout", "0000:02:00.0", "either", "r8169 0000:02:00.0: ASPM disabled on Tx timeout"),
    (3, "host bus/link/protocol", "0000:01:00.0", "either", "tg3 0000:01:00.0 eth0: PCI channel ERROR!"),
    (3, "link/protocol/other/host bus", "0000:02:00.0", "either", "atl1c 0000:02:00.0: Error Setting up Auto-Negotiation"),
    (3, "", "*", "quiet", "r8152 2-1:1.0 eth0: Couldn't submit rx[00000000c1d2e3f4], ret = -12"),
    (3, "", "*", "quiet", "mtk_t7xx 0000:56:00.0: EX CCIF HS timeout, RCH 0x1000"),
    (4, "", "*", "quiet", "mhi-pci-generic 0000:08:00.0: device recovery started"),
    (3, "", "*", "quiet", "intel-ipu6 0000:00:05.0: TSC sync failed (timeout)"),
    (3, "", "*", "quiet", "ipu_bridge: _PLD call failed, using default orientation"),
    (3, "", "*", "quiet", "ov2740 i2c-INT3474:00: number of CSI2 data lanes 1 is not supported"),
    (4, "protocol/other/link", "1-5", "either", "uvcvideo 1-5:1.1: Resetting the device, unplug and replug to recover"),
    (3, "", "*", "quiet", "mei_me 0000:00:16.0: cl:host=01 me=32 timeout on disconnect from FW client."),
    (3, "", "*", "quiet", "amd_pmc AMDI0009:00: SMU response timed out"),
    (3, "", "*", "quiet", "amd-pmf AMDI0105:00: Failed to open TEE context"),
    (4, "", "*", "quiet", "asus_wmi: Failed to set default thermal profile"),
    (6, "", "*", "quiet", "thinkpad_acpi: EC reports: Thermal Transformation changed (GMTS)"),
    (4, "", "*", "quiet", "hp_wmi: power configuration of the wireless devices unexpectedly changed"),
    (3, "", "*", "quiet", "EDAC igen6: MC0 In-Band ECC is disabled"),
    (6, "", "*", "quiet", "EDAC amd64: Hardware accepted DRAM ECC Enable"),
    (3, "", "*", "quiet", "mce: Error reading IPID on CPU3"),
    (6, "", "*", "quiet", "it87: Detected broken BIOS defaults, disabling PWM interface"),
    (4, "", "*", "quiet", "intel_vsec 0000:00:0a.0: Invalid 0 entry count for header id 2"),
    (4, "", "*", "quiet", "[TTM] TTM fault hit -ENOMEM."),
]

# fmt: on

SIXTH: Final = [*_AIR, *_PICTURES, *_SOUNDS, *_HANDS, *_STORES, *_REST]
