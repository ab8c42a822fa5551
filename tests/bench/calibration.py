"""Calibration of chances and ranges: python tests/bench/calibration.py

Prints, for each simulated fleet of tests/risk/test_calibration.py, how often the 90 % range holds
the true chance, the Brier score beside that of the bare base rate, and the calibration table
(predicted and seen counts by tenths of the predicted chance).
"""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np

_HERE = Path(__file__).parents[1] / "risk" / "test_calibration.py"
_spec = importlib.util.spec_from_file_location("test_calibration", _HERE)
assert _spec is not None
assert _spec.loader is not None
fleets = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(fleets)


def main() -> None:
    fleets.FLEET = 20_000
    for name in fleets.FLEETS:
        p, spread, truth, happened = fleets.predicted(name)
        held = ((spread[:, 0] <= truth) & (truth <= spread[:, 1])).mean()
        base = happened.mean()
        print(
            f"{name}: {len(p):,} vehicles, range holds the truth {held:.1%}, Brier "
            f"{((p - happened) ** 2).mean():.5f} (base rate alone {base * (1 - base):.5f})"
        )
        groups = np.array_split(np.argsort(p, kind="stable"), 10)
        print("  predicted " + " ".join(f"{p[g].sum():7.1f}" for g in groups))
        print("  seen      " + " ".join(f"{happened[g].sum():7.0f}" for g in groups))


if __name__ == "__main__":
    main()
