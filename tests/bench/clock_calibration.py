"""Calibration of the usage clocks: python tests/bench/clock_calibration.py

Prints, for the simulated fleets of tests/usage/simulated_fleets.py, how often the true use today
lies within the stated 5 to 95 % range (90 is right) and how often the true use of the next year
lies below the stated 10, 30, 50, 70 and 90 % points (those figures are right), by how much was
read of the vehicles.  In the first world 0.6 of what tells vehicles apart stays and the rest lasts
eight years (the model says 0.4 and 16 years; over ten years the two are alike); the others show
how far the figures go off: nothing or all of it stays, habits are shorter, vehicles stand parked,
readings carry slips of the pen.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "usage"))

import clock_trials as trials
from simulated_fleets import CLEAN, SUPPOSED, Pens, World

WORLDS = {
    "nothing stays: every habit gives way to another": (World(stays=0.0), CLEAN),
    "all stays: no habit ever changes": (World(stays=1.0), CLEAN),
    "habits last four years": (World(habit_lasts=4.0), CLEAN),
    "rounded readings, 2 % slips, 2 % exchanged": (
        SUPPOSED,
        Pens(to_100=0.2, to_1000=0.1, slips=0.02, exchanged=0.02),
    ),
    "3 % a year begin to stand": (World(parked_share=0.03), CLEAN),
    "every class runs 1.3 times its figure": (World(class_off=1.3), CLEAN),
}


def main() -> None:
    of = trials.trial(SUPPOSED, CLEAN, 30_000)
    rows = trials.miles_rows(of) + trials.horizon_rows(of) + trials.other_rows(of)
    print("0.6 stays, the rest lasts eight years, months scatter, duties have seasons")
    print(trials.table(rows + trials.cold_start_rows(of) + trials.since_rows(of)))
    for name, (world, pens) in WORLDS.items():
        print(f"\n{name}")
        print(trials.table(trials.miles_rows(trials.trial(world, pens, 15_000))))


if __name__ == "__main__":
    main()
