"""A small rule folder of its own, so that each check can be shown one good and one bad file.

All figures and names in it are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from riskcheck import rulebook
from riskcheck.yamlfile import Fault

FACTS = """\
hydraulic_brakes:
  kind: flag
  meaning: brakes work by fluid
  from: {column: {}}
  silence: at_random
  ask: Look and see?
  base: {"yes": 0.9, "no": 0.1}
road_salt:
  kind: flag
  meaning: driven on salted roads
  from: {column: {name: salt}}
  silence: at_random
  ask: Look and see?
  base: {"yes": 0.6, "no": 0.4}
unpaved_roads:
  kind: flag
  meaning: much gravel
  from: {column: {}}
  silence: at_random
  ask: Look and see?
hose_kind:
  kind: category
  meaning: what the hose is made of
  values: [rubber, braided]
  from: {column: {}}
  silence: at_random
  ask: Look and see?
  base: {rubber: 0.9, braided: 0.1}
years_since_brake_hoses:
  kind: number
  meaning: years since the hoses were renewed
  unit: y
  resolution: 0.1
  range: [0, 80]
  from: {since: {clock: years, topics: [brake_hose], marks: [done]}}
  silence: on_file
brake_hoses_renewed:
  kind: flag
  meaning: hoses were renewed
  from: {ever: {topics: [brake_hose], marks: [done]}}
  silence: on_file
brake_pull_reported:
  kind: flag
  meaning: pulling was reported
  from: {open: {topics: [brake_drag], marks: [complaint],
    closed_by: {topics: [brake_hose], marks: [done]}}}
  silence: on_file
brake_hose_found_bad:
  kind: flag
  meaning: a hose was found bad
  from: {ever: {topics: [brake_hose], marks: [finding]}}
  silence: coverage
  reporting: {base: 0.1, seen_if_true: 0.8}
"""

FIGURE = '{{value: {0}, unit: "{1}", source: invented}}'


def _figure(value: float, unit: str) -> str:
    return FIGURE.format(value, unit)


POLICY = f"""\
labour_rate: {_figure(150, "USD/h")}
bay_hours_per_week: {_figure(120, "h")}
floor_per_bay_hour: {_figure(0, "USD/h")}
tolerance_p_harm: {_figure(0.0001, "1")}
deferral_rate: {_figure(0.1, "1/y")}
calls_per_day: {_figure(12, "1")}
tow_cost: {_figure(250, "USD")}
day_cost: {{retail: {_figure(60, "USD")}}}
vehicle_value: {{retail: {_figure(15000, "USD")}}}
yearly_miles: {{retail: {_figure(12000, "mi")}}}
yearly_engine_hours: {{retail: {_figure(400, "h")}}}
yearly_cold_starts: {_figure(120, "1")}
monthly_winter: [0.25, 0.25, 0.2, 0, 0, 0, 0, 0, 0, 0, 0.1, 0.2]
monthly_cold_starts: [0.25, 0.25, 0.2, 0, 0, 0, 0, 0, 0, 0, 0.1, 0.2]
seasons: {{before_frost: "10-15"}}
money_bands: [1000, 8000, 50000]
status_weight: 0.9
horizon_months: 12
etiquette:
  hours: {{earliest: "08:00", latest: "21:00", source: invented}}
  reach_share: {_figure(0.5, "1")}
  booking_share: {_figure(0.3, "1")}
  cool_down: {_figure(30, "d")}
  topics_a_year: {_figure(4, "topics")}
  attempts: {_figure(3, "attempts")}
  ask_again_after: {_figure(10, "d")}
  changed_miles: {_figure(3000, "mi")}
  parts_wait: {_figure(10, "d")}
  relationship: {_figure(18, "months")}
  holdout: {_figure(0.1, "1")}
  lift_visit: {_figure(60, "min")}
  right_ends_within: {_figure(60, "d")}
  counsel: ask counsel
"""

WORDING = """\
topics:
  brake_hose: {hazards: [sample], says: the hoses}
  brake_drag: {hazards: [sample], says: a dragging wheel}
"""

Folder = dict[str, str]
Faults = Callable[[Folder], list[Fault]]


@pytest.fixture
def folder() -> Folder:
    """Text of every file of a faultless rule folder, by its path."""
    return {
        "facts.yaml": FACTS,
        "policy.yaml": POLICY,
        "hazards/sample.yaml": rulebook.skeleton("sample"),
        "hazards/sample.cases.yaml": rulebook.skeleton_cases("sample"),
        "wording/brakes.yaml": WORDING,
    }


@pytest.fixture
def write(tmp_path: Path) -> Callable[[Folder], Path]:
    """Writes a folder's files and returns where they are."""

    def write_all(files: Folder, name: str = "rules") -> Path:
        root = tmp_path / name
        for path, text in files.items():
            (root / path).parent.mkdir(parents=True, exist_ok=True)
            (root / path).write_text(text, encoding="utf-8")
        return root

    return write_all
