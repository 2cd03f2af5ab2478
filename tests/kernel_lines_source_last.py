# ruff: noqa: E501 (the kernel's lines are as long as they are)
"""Messages of Linux 6.12 modules drawn by lot once more, after all that the two lists before taught.

Filled in and judged as those were, and written down before the program was shown any of them.
"""

from __future__ import annotations

from typing import Final

from tests.kernel_lines_source import Sourced

# fmt: off

_AIR: Final[list[Sourced]] = [
    (4, "host bus/protocol", "0000:02:00.0", "fault", "ath10k_pci 0000:02:00.0: rx ring became corrupted: -5"),
    (3, "protocol/firmware/host bus", "0000:01:00.0", "fault", "ath11k_pci 0000:01:00.0: device is wedged, will not restart radio 0"),
    (3, "timeout", "0000:01:00.0", "fault", "ath12k_pci 0000:01:00.0: Service connect timeout"),
    (4, "", "*", "quiet", "ath10k_pci 0000:02:00.0: failed to set pwr_mgmt_params: -16"),
    (3, "", "*", "quiet", "ath10k_pci 0000:02:00.0: failed to request legacy irq 17: -16"),
    (3, "timeout", "*", "either", "brcmfmac: brcmf_sdio_kso_init: timeout on ALPAV wait, clkval 0x50"),
    (3, "protocol", "0000:00:14.3", "fault", "iwlwifi 0000:00:14.3: TOP Fatal error detected, inta_hw=0x80000000."),
    (3, "timeout/host bus/protocol", "0000:02:00.0", "fault", "mwifiex_pcie 0000:02:00.0: Firmware didn't wake up"),
    (3, "", "*", "quiet", "mwifiex_pcie 0000:02:00.0: SCAN_RESP: TLV buffer corrupt"),
    (3, "", "*", "quiet", "mwifiex_pcie 0000:02:00.0: vzalloc devdump data failure!"),
    (4, "timeout/protocol", "1-4", "either", "usb 1-4: Firmware checksum poll timed out"),
    (4, "timeout/protocol", "0000:01:00.0", "either", "rtw89_8852be 0000:01:00.0: Err: ser L2 re-config timeout"),
    (3, "", "*", "quiet", "rtw89_8852be 0000:01:00.0: failed to alloc tx ring 3"),
    (4, "", "*", "quiet", "rtw88_8822ce 0000:02:00.0: failed to restore ps to normal mode"),
    (3, "timeout", "hci0", "either", "Bluetooth: hci0: link tx timeout"),
    (3, "timeout", "hci0", "either", "Bluetooth: hci0: Reset timeout"),
    (3, "firmware", "hci0", "either", "Bluetooth: hci0: Intel fw corrupted: invalid cmd read"),
    (3, "link/protocol/other", "hci0", "either", "Bluetooth: hci0: corrupted event packet"),
    (3, "protocol/other", "hci0", "either", "Bluetooth: hci0: TXQ: invalid cr_hia 65535"),
    (3, "protocol/firmware/other", "hci0", "either", "Bluetooth: hci0: BCM: Patch failed (-16)"),
    (3, "timeout", "hci0", "either", "Bluetooth: hci0: Opcode 0x0c03 failed: -110"),
    (6, "", "*", "quiet", "Bluetooth: hci0: BCM: Using default device address (00:10:18:00:00:01)"),
    (6, "", "*", "quiet", "wlp2s0: AP appears to change mode (expected HE, found VHT), disconnect"),
]

_INSIDE: Final[list[Sourced]] = [
    (3, "graphics/other", "0000:00:02.0", "either", "xe 0000:00:02.0: [drm] *ERROR* GT1: Failed to create queue for GSC submission"),
    (3, "", "*", "quiet", "amdgpu 0000:04:00.0: amdgpu: clock recovery reached max voltage"),
    (3, "", "*", "quiet", "intel_vpu 0000:00:0b.0: [drm] *ERROR* ivpu_hw_ip_host_ss_axi_drive(): Wait for *_TRIGGER timed out"),
    (3, "host bus/timeout/protocol", "0000:00:1f.3", "either", "snd_hda_intel 0000:00:1f.3: get_response timeout: IRS=0x1"),
    (3, "", "*", "quiet", "snd_soc_avs 0000:00:1f.3: dsp recovery is already in progress"),
    (3, "timeout/protocol/other", "*", "either", "cs42l43-codec cs42l43-codec: Load detect HP restore timed out"),
    (6, "", "*", "quiet", "max98390 i2c-MX98390:00: no optional property 'temperature_calib' found, default:"),
    (3, "", "*", "quiet", "max98390 i2c-MX98390:00: failed to find proper clock rate."),
    (3, "timeout/protocol", "0000:03:00.5", "either", "snd_sof_amd_rembrandt 0000:03:00.5: FW Poll Status: reg[0x1c]=0x0 timedout"),
    (3, "timeout", "0000:00:1f.3", "either", "sof-audio-pci-intel-tgl 0000:00:1f.3: hda_dsp_stream_reset: on 00000000a1: timeout on STREAM_SD_OFFSET read1"),
    (4, "", "*", "quiet", "cs35l41-hda i2c-CSC3551:00-cs35l41-hda.0: Unable to find firmware and tuning"),
    (3, "", "*", "quiet", "tas2781-hda i2c-TXNW2781:00: Register component failed: -22"),
    (3, "", "*", "quiet", "nau8825 i2c-10508825:00: Cannot request irq 118 (-22)"),
    (4, "", "*", "quiet", "sof_sdw sof_sdw: quirk SOC_SDW_NO_AGGREGATION enabled but no longer supported"),
    (3, "protocol/other", "*", "either", "soundwire_intel soundwire_intel.link.0: add master to stream failed:-22"),
    (6, "", "*", "quiet", "soundwire_intel soundwire_intel.link.0: Slave status change: 0x10000"),
    (3, "timeout", "0-0015", "either", "elan_i2c 0-0015: timeout waiting for device reset"),
    (3, "link/protocol", "i2c-ELAN2097:00", "either", "elants_i2c i2c-ELAN2097:00: (elants_i2c_send) I2C transfer failed: -EREMOTEIO"),
    (3, "", "*", "quiet", "hid-multitouch 0018:04F3:2F2C.0001: The byte is not expected for fixing the report descriptor."),
    (3, "timeout/link/other", "*", "either", "piix4_smbus 0000:00:14.0: Error: no response!"),
    (3, "", "*", "quiet", "intel_ish_ipc 0000:00:12.0: Can't reset - stuck with DMA in-progress"),
    (3, "", "*", "quiet", "pcie_mp2_amd 0000:03:00.7: amd_sfh_hid_client_init failed err -95"),
    (3, "", "*", "quiet", "intel-ipu6 0000:00:05.0: recv IPC response timeout"),
    (3, "", "*", "quiet", "ov01a10 i2c-OVTI01A0:00: failed to set mode"),
    (4, "", "*", "quiet", "uvcvideo 1-5:1.1: Device requested null bandwidth, defaulting to lowest"),
    (3, "", "*", "quiet", "mei_me 0000:00:16.0: timer: init clients timeout hbm_state = 2."),
    (3, "", "*", "quiet", "mtk_t7xx 0000:56:00.0: AP handshake timeout"),
]

_STORES: Final[list[Sourced]] = [
    (3, "host bus/timeout", "mmc0", "fault", "mmc0: cqhci: CQE stuck on"),
    (3, "timeout", "mmc0", "fault", "mmc0: Timeout waiting for hardware cmd interrupt."),
    (3, "protocol/link/other", "mmc0", "either", "mmc0: card present detect failed."),
    (3, "protocol/link", "*", "either", "rtsx_pci_sdmmc rtsx_pci_sdmmc.0: Invalid response bit"),
    (3, "protocol/other", "nvme0", "either", "nvme nvme0: reading changed ns log failed: -5"),
    (6, "", "*", "quiet", "ahci 0000:00:17.0: port does not support device sleep"),
    (4, "host bus", "0000:00:14.0", "fault", "xhci_hcd 0000:00:14.0: xHCI host not responding to stop endpoint command"),
    (4, "", "*", "quiet", "xhci_hcd 0000:00:14.0: port 1-4 in U3 without wakeup, disable it"),
    (3, "", "*", "quiet", "xhci_hcd 0000:00:14.0: Copy from tmp buf to urb sg list failed"),
    (4, "protocol/other", "1-3", "either", "usb 1-3: serial string changed"),
    (3, "link/protocol/timeout", "1-2", "either", "asix 1-2:1.0 eth0: Failed to write reg index 0x0000: -110"),
    (3, "", "*", "quiet", "e1000e 0000:00:1f.6 eno1: ptp_clock_register failed"),
    (3, "", "*", "quiet", "r8169 0000:02:00.0 enp2s0: Failed to map RX DMA!"),
    (3, "host bus/link/other/protocol", "0000:01:00.0", "either", "tg3 0000:01:00.0 eth0: Failed to open device. PCI error recovery in progress"),
    (3, "timeout", "2-1", "either", "r8152 2-1:1.0 eth0: PHY patch request timeout"),
    (4, "protocol/other", "*", "either", "cros-ec-typec GOOG0014:00: Failed VDM attention event clear, port: 1"),
    (3, "link/protocol/timeout", "*", "either", "cros-ec-spi spi-PRP0001:01: cs-deassert spi transfer failed: -110"),
    (6, "", "*", "quiet", "sbs-battery 3-000b: Fallback method does not support PEC."),
    (4, "", "*", "quiet", "thunderbolt 0000:00:0d.2: USB4 port 0:3: does not have PHY"),
    (3, "", "*", "quiet", "amd_pmc AMDI0009:00: pcim_enable_device failed"),
    (3, "", "*", "quiet", "proc_thermal_pci 0000:00:04.0: cannot reserve PCI memory region"),
    (4, "", "*", "quiet", "EDAC amd64: Warning: Hardware rejected DRAM ECC enable,check memory DIMM configuration."),
    (3, "", "*", "quiet", "EDAC igen6: Failed to read TOLUD"),
    (6, "", "*", "quiet", "acer_wmi: Unsupported machine has AMW0_GUID1, unable to load"),
    (4, "", "*", "quiet", "intel_pmc_core INT33A1:00: CPU did not enter Package C10!!! (Package C10 cnt=0x0)"),
]

# fmt: on

SEVENTH: Final = [*_AIR, *_INSIDE, *_STORES]
