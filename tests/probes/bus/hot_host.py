"""A laptop with a thermal body: it heats up while the load runs, on a clock of its own."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from livecheck.native.load import CoreResult
from tests.inventory.fake_host import SYS, FakeHost, attributes, device

HWMON, RAPL, CPU = f"{SYS}/hwmon0", f"{SYS}/intel-rapl:0", "/sys/devices/system/cpu/cpu0"
AC, BAT = f"{SYS}/AC", f"{SYS}/BAT0"
ZONE = f"{SYS}/thermal_zone0"
WRAP_UJ = 65_532_610_987
"""max_energy_range_uj at an energy unit of 2^-16 J, as the kernel works it out."""


class HotHost(FakeHost):
    """T = air + R·P·(1 − e^(−t/τ)) + prompt·P, whole degrees; RAPL that wraps in mid-load."""

    def __init__(
        self,
        resistance: float = 2.4,
        tau: float = 40.0,
        prompt: float = 0.4,
        idle: float = 3.0,
        busy: float = 20.0,
        rpm: int = 3200,
        limit: int = 100,
        battery: Mapping[str, float] | None = None,
        trip: tuple[str, int] | None = None,
    ) -> None:
        files = attributes(HWMON, name="coretemp", temp1_input=0, temp1_label="Package id 0",
                           temp1_crit=limit * 1000, fan1_input=rpm, fan1_label="Fan")  # fmt: skip
        files |= attributes(RAPL, name="package-0", energy_uj=0, max_energy_range_uj=WRAP_UJ,
                            constraint_0_name="long_term",
                            constraint_0_power_limit_uw=15_000_000)  # fmt: skip
        files |= attributes(f"{CPU}/cpufreq", scaling_cur_freq=2_000_000)
        listed = [
            device("hwmon", "hwmon0", HWMON),
            device("powercap", "intel-rapl:0", RAPL),
        ]
        if trip is not None:
            files |= attributes(ZONE, type="acpitz", temp=0, trip_point_0_type=trip[0],
                                trip_point_0_temp=trip[1] * 1000)  # fmt: skip
            listed.append(device("thermal", "thermal_zone0", ZONE))
        if battery is not None:
            files |= attributes(AC, type="Mains", online=int(battery.get("online", 0)))
            files |= attributes(BAT, type="Battery", present=1, status="Discharging",
                                voltage_now=0, current_now=0, capacity=70,
                                voltage_min_design=11_100_000)  # fmt: skip
            listed += [device("power_supply", "AC", AC), device("power_supply", "BAT0", BAT)]
        super().__init__(files, listed)
        self.resistance, self.tau, self.prompt = resistance, tau, prompt
        self.idle, self.busy = idle, busy
        self.battery = dict(battery or {})
        self.air = 28.0
        self.loaded = False
        self.now = 0.0
        self._slow = self.air + resistance * idle
        self._joules = WRAP_UJ * 1e-6 - 400.0  # begins again some 60 s later
        self.read_paths: set[str] = set()

    @property
    def watts(self) -> float:
        return self.busy if self.loaded else self.idle

    @property
    def celsius(self) -> float:
        return self._slow + self.prompt * self.watts

    def clock(self) -> float:
        return self.now

    def wait(self, seconds: float) -> None:
        keep = math.exp(-seconds / self.tau)
        self._slow = keep * self._slow + (1 - keep) * (self.air + self.resistance * self.watts)
        self._joules += self.watts * seconds
        self.now += seconds

    def read(self, path: str) -> bytes:
        self.read_paths.add(path)
        amperes = 0.5 + (2.0 if self.loaded else 0.0)
        volts = 12.3 - self.battery.get("ohms", 0.1) * amperes
        live = {
            f"{HWMON}/temp1_input": round(self.celsius) * 1000,
            f"{ZONE}/temp": round(self.celsius) * 1000,
            f"{RAPL}/energy_uj": int(self._joules * 1e6) % (WRAP_UJ + 1),
            f"{BAT}/voltage_now": round(volts * 1e6),
            f"{BAT}/current_now": round(amperes * 1e6),
        }
        return str(live[path]).encode() if path in live else super().read(path)

    def load(
        self,
        cpus: Sequence[int],
        seconds: float,
        watch: Callable[[float, Sequence[CoreResult]], bool],
        flips: Mapping[int, int] | None = None,
        turn: int = 0,
    ) -> list[CoreResult]:
        """In place of the real load: the same calls, on the host's clock."""
        self.loaded = True
        results = [CoreResult(cpu=cpu, wrong=[], calls=1) for cpu in cpus]
        begun = self.now
        while (gone := self.now - begun) < seconds - 1e-9 and not watch(gone, results):
            self.wait(0.1)
        self.loaded = False
        return results
