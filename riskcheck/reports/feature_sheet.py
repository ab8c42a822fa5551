"""The feature worksheet as a workbook to be filled in, and its rows when it comes back."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from riskcheck.errors import InputError
from riskcheck.rulebook import Rulebook, read_groups
from riskcheck.rulebook.worksheet import GROUP_COLUMNS, choices, features
from riskcheck.sheets import Column, Sheet, Workbook, read_grids
from riskcheck.vocabulary import Fact

SHEET_NAME = "Features"
_HEADINGS = {
    "make": "Make",
    "model": "Model",
    "engine": "Engine",
    "first_year": "First year",
    "last_year": "Last year",
    "vehicles": "Vehicles",
    "at_stake_usd": "At stake, USD",
}
_TITLE = (
    "What these vehicles are built with",
    "One row a group of your fleet, most at stake first. Leave blank what nobody has looked at: "
    "a guess here would clear or accuse a whole group.",
)


def feature_workbook(groups: pd.DataFrame, asked: Sequence[Fact]) -> Workbook:
    """``groups`` as from ``rulebook.platform_groups``; a drop-down for each design feature."""
    columns = [
        Column(_HEADINGS[name], width=12, number_format="#,##0" if name == "at_stake_usd" else "")
        for name in GROUP_COLUMNS
    ]
    columns += [
        Column(_heading(fact), width=16, wrap=True, choices=choices(fact), input_cell=True)
        for fact in asked
    ]
    rows = [[None if pd.isna(v) or v == "" else v for v in row] for row in groups.to_numpy()]
    guide = [[_heading(fact), fact.meaning, fact.ask, fact.how_to_tell] for fact in asked]
    guide_columns = [
        Column("Feature", width=26, wrap=True),
        Column("Means", width=40, wrap=True),
        Column("Ask the owner", width=40, wrap=True),
        Column("Or see in two minutes", width=60, wrap=True),
    ]
    return Workbook(
        sheets=[
            Sheet(SHEET_NAME, columns, rows, title=_TITLE, freeze_columns=3, spare_rows=20),
            Sheet("How to tell", guide_columns, guide, title=("How to tell",)),
        ],
        title=_TITLE[0],
    )


def filled_rows(path: Path, asked: Sequence[Fact]) -> pd.DataFrame:
    """The rows of a filled-in workbook, columns as ``rulebook.read_groups`` wants them.

    ``row`` is the row as the spreadsheet shows it.  The heading row is found by "Make" and
    "Model"; empty when there is none.
    """
    names = {heading: name for name, heading in _HEADINGS.items()}
    names |= {_heading(fact): fact.name for fact in asked}
    for grid in read_grids(path):
        cells = grid.cells.astype(object).where(grid.cells.notna(), "")
        for position in range(len(cells)):
            headings = [str(cell).strip() for cell in cells.iloc[position]]
            if {"Make", "Model"} <= set(headings):
                body = cells.iloc[position + 1 :]
                body.columns = pd.Index([names.get(heading, heading) for heading in headings])
                kept = body.loc[:, [name for name in body.columns if name in names.values()]]
                return kept.assign(row=[grid.row_number(row) for row in kept.index])
    return pd.DataFrame()


def holds_answers(path: Path, book: Rulebook) -> bool:
    """Whether somebody filled in what ``book`` does not say; also where it cannot be told.

    A file that is no worksheet of ours, or that cannot be read, is somebody's all the same.
    """
    try:
        rows = filled_rows(path, features(book))
    except InputError:
        return True
    if rows.empty:
        return True
    answers = read_groups(rows, book)
    return bool(answers.platforms or answers.problems)


def _heading(fact: Fact) -> str:
    unit = f", {fact.unit}" if fact.kind == "number" and fact.unit not in ("", "1") else ""
    return f"{fact.name.replace('_', ' ').capitalize()}{unit}"
