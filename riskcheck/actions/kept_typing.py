"""Where a workbook may be written so that nothing that a person typed is lost."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pandas as pd

from riskcheck.actions.returned import read_returned
from riskcheck.actions.returned_known import ISSUE_COLUMNS
from riskcheck.errors import InputError


def holds_typing(path: Path, as_of: date) -> bool:
    """Whether somebody typed into the workbook at ``path``; False if there is none.

    A file that cannot be read counts as typed in: it is not ours to overwrite.
    """
    if not path.exists():
        return False
    nothing = pd.DataFrame(columns=["run_id", *ISSUE_COLUMNS], dtype=object)
    try:
        back = read_returned(path, "", nothing, as_of)
    except InputError:
        return True
    return bool(back.cells or back.loose)


def free_target(target: Path, as_of: date, holds: Callable[[Path], bool]) -> Path:
    """``target``, or beside it a name with the as-of date where ``holds(path)`` is true of it."""
    if not holds(target):
        return target
    dated = target.with_name(f"{target.stem}-{as_of.isoformat()}{target.suffix}")
    place, number = dated, 2
    while holds(place):
        place = dated.with_name(f"{dated.stem}-({number}){dated.suffix}")
        number += 1
    return place
