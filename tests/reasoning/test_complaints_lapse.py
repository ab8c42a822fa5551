"""An owner's complaint stops being a sign after a year; a technician's finding does not."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from riskcheck.reasoning.record import Events

MARKS = {"topics": ["steering_play"], "marks": ["complaint", "finding"]}


@pytest.mark.parametrize(
    ("mark", "day", "place"),
    [("complaint", 99, -1), ("complaint", 100, 0), ("finding", 99, 0)],
)
def test_only_a_complaint_before_the_line_is_dropped(mark: str, day: int, place: int) -> None:
    events = Events(
        frame=pd.DataFrame(),
        vehicle=np.array([0]),
        day_lo=np.array([day]),
        day_hi=np.array([day]),
        odometer_mi=np.array([np.nan]),
        rank=np.array([0]),
        topic=np.array(["steering_play"]),
        mark=np.array([mark]),
        vehicles=1,
    )
    assert events.last(MARKS, complaints_from=100).tolist() == [place]
    assert events.last(MARKS).tolist() == [0]
