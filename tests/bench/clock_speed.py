"""Speed of the usage clocks: python tests/bench/clock_speed.py

Measures 5,000 to 40,000 vehicles with ten readings each (odometer and hour meter, seeded), every
clock today, its pace and its use over thirteen months; the least of five runs, and how the time
grows.  Source of the readings: tests/usage/simulated_fleets.py.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "usage"))

from clock_trials import NO_EVENTS, policy, three
from simulated_fleets import AS_OF, CLEAN, SUPPOSED, Visits, build, readings, vehicle_list

from riskcheck.usage import clocks

SIZES, RUNS = (5_000, 10_000, 20_000, 40_000), 5
TEN = Visits((10, 10), (1.0, 8.0), (0.0, 1.0))


def seconds(n: int) -> tuple[float, float]:
    """Least time to build the clocks of n vehicles and to ask all of them everything."""
    miles = {k: three(f) for k, f in policy().yearly_miles.items() if k != "default"}
    fleet = build(n, 3, miles, SUPPOSED)
    read = readings(fleet, [TEN] * n, CLEAN, np.full(n, 1 / 30))
    vehicles = vehicle_list(fleet)
    built, asked = [], []
    for _ in range(RUNS):
        start = time.perf_counter()
        known = clocks(vehicles, read, NO_EVENTS, policy(), AS_OF)
        built.append(time.perf_counter() - start)
        start = time.perf_counter()
        for clock in known.by_name:
            known.now(clock)
            known.ahead(clock, np.arange(13.0))
        asked.append(time.perf_counter() - start)
    return min(built), min(asked)


def main() -> None:
    before = None
    for n in SIZES:
        built, asked = seconds(n)
        growth = "" if before is None else f", {(built + asked) / before:.2f} times the line above"
        print(
            f"{n:,} vehicles, {10 * n:,} readings: clocks built in {built:.3f} s, "
            f"all asked in {asked:.3f} s{growth}"
        )
        before = built + asked


if __name__ == "__main__":
    main()
