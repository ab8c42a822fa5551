"""Caps of shared losses: one thing is lost once, and no vehicle loses more than it is worth."""

from __future__ import annotations

import pandas as pd
import pytest

from riskcheck.risk.losses import together, with_group_losses


def rows(chance, cost, group, cap):
    return pd.DataFrame({"vehicle_id": "V1", "x_loss_group": group, "x_loss_chance": chance,
                         "cost_if_fails": cost, "x_loss_cap": cap})  # fmt: skip


def test_a_group_is_capped_before_the_vehicle_is():
    """Engine for sure at 6,000 on a vehicle of 4,500, brakes for sure at 300: 4,500 in all."""
    table = with_group_losses(
        rows([1.0, 1.0, 1.0], [6000.0, 5000.0, 300.0], ["engine", "engine", "brakes"], 4500.0)
    )
    assert table["x_group_loss"].tolist() == [4500.0, 4500.0, 300.0]
    assert table["x_vehicle_loss"].tolist() == [4500.0] * 3


def test_two_groups_below_the_cap_may_exceed_it_together():
    table = with_group_losses(rows([1.0, 1.0], [3000.0, 2500.0], ["engine", "brakes"], 4500.0))
    assert table["x_group_loss"].tolist() == [3000.0, 2500.0]
    assert table["x_vehicle_loss"].tolist() == [4500.0] * 2


def test_the_widest_cap_counts_where_downtimes_differ():
    """Caps hold the vehicle's value and each event's own downtime: the longest is the vehicle's."""
    both = rows([1.0, 1.0], [6000.0, 5000.0], "engine", [4500.0, 4700.0])
    assert together(both)["loss"].tolist() == [4700.0]
    apart = rows([1.0, 1.0], [6000.0, 5000.0], ["engine", "brakes"], [4500.0, 4700.0])
    assert together(apart)["loss"].tolist() == [4700.0]


def test_a_sure_event_leaves_nothing_for_cheaper_ones_of_its_group():
    """Dearest first: 0.5·900, then 100 for sure in the half that is left, then nothing."""
    half = rows([0.5, 1.0, 0.7], [900.0, 100.0, 50.0], "engine", 1e9)
    assert together(half)["loss"].tolist() == pytest.approx([450.0 + 50.0])
    assert together(half)["chance"].tolist() == pytest.approx([1.0])
