"""What was done to every row and cell, and the proof that no row was lost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from riskcheck.errors import InternalError
from riskcheck.fleet.distinct import coded_from, distinct, odd_ones, spread
from riskcheck.sheets import Grid

Action = Literal["used", "repaired", "set_aside", "noted"]
Rows = npt.NDArray[np.int64]
PROBLEM_COLUMNS = ["file", "sheet", "cell", "action", "was", "now", "reason"]

_USED, _REPAIRED, _SET_ASIDE = 2, 3, 4  # 0 is a blank row, 1 one whose fate is open
_FATES = ["used", "repaired", "set_aside"]
_CONTACT_FIELDS = {"name", "phone", "phone_2", "email", "address", "city", "postcode", "notes"}


@dataclass(frozen=True)
class Place:
    """Where something was found: a sheet and, if it is about cells, a column of it."""

    grid: Grid
    column: int | None = None
    field: str = ""


@dataclass(frozen=True)
class Tally:
    """Rows of one sheet by what became of them; the last three add up to ``rows``."""

    file: str
    sheet: str
    rows: int
    used: int
    repaired: int
    set_aside: int


class Notebook:
    """Collects problems and keeps, for every row of every grid, what became of it."""

    def __init__(self, grids: Sequence[Grid]) -> None:
        self._grids = list(grids)
        self._filled = {id(grid): filled_rows(grid) for grid in grids}
        self._status = {id(grid): self._filled[id(grid)].astype(np.int8) for grid in grids}
        self._frames: list[pd.DataFrame] = []

    def filled(self, grid: Grid) -> Rows:
        """Rows that hold anything at all."""
        return np.flatnonzero(self._filled[id(grid)])

    def set_aside_rows(self, grid: Grid) -> Rows:
        """Rows set aside so far."""
        return np.flatnonzero(self._status[id(grid)] == _SET_ASIDE)

    def use(self, grid: Grid, rows: Rows) -> None:
        """These rows went into the result (repairs noted before stay repairs)."""
        status = self._status[id(grid)]
        status[rows] = np.maximum(status[rows], _USED)

    def set_aside(
        self, place: Place, rows: Rows, reason: str | Sequence[str], was: Sequence[object] = ()
    ) -> None:
        """These rows did not go into the result; ``reason`` says why and what to do."""
        rows = np.asarray(rows, dtype=np.int64)
        status = self._status[id(place.grid)]
        fresh = status[rows] != _SET_ASIDE
        status[rows] = _SET_ASIDE
        self._add(place, rows[fresh], "set_aside", (_pick(was, fresh), ""), _pick(reason, fresh))

    def repair(
        self,
        place: Place,
        rows: Rows,
        change: tuple[Sequence[object], Sequence[object] | str],
        reason: str | Sequence[str],
    ) -> None:
        """Cells of these rows were read otherwise than written: (was, now)."""
        rows = np.asarray(rows, dtype=np.int64)
        self._mark_repaired(place.grid, rows)
        self._add(place, rows, "repaired", change, reason)

    def _mark_repaired(self, grid: Grid, rows: Rows) -> None:
        status = self._status[id(grid)]
        status[rows] = np.maximum(status[rows], _REPAIRED)

    def note(
        self, place: Place, rows: Rows, was: Sequence[object] | str, reason: str | Sequence[str]
    ) -> None:
        """Worth knowing; the cells were used as they are."""
        self._add(place, np.asarray(rows, dtype=np.int64), "noted", (was, ""), reason)

    def note_sheet(self, grid: Grid, was: str, reason: str) -> None:
        """Worth knowing about a whole sheet."""
        self._frames.append(_frame(grid, [""], "noted", ([was], [""]), [reason]))

    def note_places(self, places: pd.DataFrame, findings: pd.DataFrame) -> None:
        """Entries about single cells found later: was, now, action and reason row by row.

        ``places``: file, sheet, cell.  A row whose cell was repaired counts as repaired.
        """
        if findings.empty:
            return
        frame = places.assign(
            action=findings["action"].where(findings["action"] == "repaired", "noted").to_numpy(),
            was=[f"{value:.10g}" for value in findings["was"]],
            now=_now(findings),
            reason=findings["reason"].to_numpy(),
        )
        self._frames.append(frame[PROBLEM_COLUMNS])
        for grid in self._grids:
            here = (frame["file"] == grid.file) & (frame["sheet"] == grid.sheet)
            cells = frame.loc[here & (frame["action"] == "repaired"), "cell"]
            rows = cells.str.extract(r"(\d+)$")[0].astype(int) - 1 - grid.first_row
            self._status[id(grid)][rows.to_numpy(dtype=np.int64)] = _REPAIRED

    def _add(
        self,
        place: Place,
        rows: Rows,
        action: Action,
        change: tuple[object, object],
        reason: object,
    ) -> None:
        if not len(rows):
            return
        grid, count = place.grid, len(rows)
        if place.column is None:
            cells = [f"row {grid.row_number(row)}" for row in rows]
        else:
            letters = grid.letters(place.column)
            cells = [f"{letters}{grid.row_number(row)}" for row in rows]
        was, now = (_masked(_spread(part, count), place.field) for part in change)
        self._frames.append(_frame(grid, cells, action, (was, now), _spread(reason, count)))

    def problems(self) -> pd.DataFrame:
        """All entries in order of file, sheet and time of noting; one "used" line a sheet."""
        lines = [
            pd.DataFrame([[t.file, t.sheet, "", "used", "", "", _tally_words(t)]],
                         columns=PROBLEM_COLUMNS)
            for t in self.tallies()
        ]  # fmt: skip
        frames = [*lines, *self._frames]
        if not frames:
            return pd.DataFrame(columns=PROBLEM_COLUMNS, dtype=str)
        return pd.concat(frames, ignore_index=True)

    def tallies(self) -> list[Tally]:
        """Row counts of every sheet."""
        tallies = []
        for grid in self._grids:
            status = self._status[id(grid)]
            counts = np.bincount(status, minlength=5)
            tallies.append(
                Tally(
                    grid.file,
                    grid.sheet,
                    int(self._filled[id(grid)].sum()),
                    int(counts[_USED]),
                    int(counts[_REPAIRED]),
                    int(counts[_SET_ASIDE]),
                )
            )
        return tallies

    def fates(self) -> pd.DataFrame:
        """file, sheet, row, fate (used, repaired, set_aside) of every row that holds anything."""
        frames = []
        for grid in self._grids:
            rows = self.filled(grid)
            fate = coded_from(self._status[id(grid)][rows].astype(np.int64) - _USED, _FATES)
            here = np.zeros(len(rows), dtype=np.int64)
            frames.append(
                pd.DataFrame(
                    {
                        "file": coded_from(here, [grid.file]),
                        "sheet": coded_from(here, [grid.sheet]),
                        "row": rows + grid.first_row + 1,
                        "fate": fate,
                    }
                )
            )
        return frames[0] if len(frames) == 1 else pd.concat(frames, ignore_index=True)

    def close(self) -> None:
        """Assert that every filled row was used, repaired or set aside.

        Raises InternalError otherwise: a lost row is our own fault, never the input's.
        """
        for tally in self.tallies():
            if tally.used + tally.repaired + tally.set_aside != tally.rows:
                where = f"{tally.file} {tally.sheet}".strip()
                raise InternalError(
                    f"In {where}, {tally.rows} rows were found but {tally.used} were used, "
                    f"{tally.repaired} repaired and {tally.set_aside} set aside: "
                    "they do not add up."
                )


class Unheard(Notebook):
    """A notebook for reading the same cells a second time: it writes nothing down."""

    def __init__(self) -> None:
        super().__init__([])

    def _add(self, *_: object) -> None:
        return

    def note_sheet(self, *_: object) -> None:
        return

    def _mark_repaired(self, *_: object) -> None:
        return


def filled_rows(grid: Grid) -> npt.NDArray[np.bool_]:
    """True for rows that hold anything at all, error cells included."""
    filled = np.zeros(len(grid.cells), dtype=bool)
    for column in grid.cells.columns:
        filled |= ~blank(grid.cells[column])
    for row, _ in [*grid.errors, *grid.uncomputed]:
        if 0 <= row < len(filled):
            filled[row] = True
    return filled


def blank(values: pd.Series) -> npt.NDArray[np.bool_]:
    """True where a raw cell holds nothing but blanks."""
    if isinstance(values.dtype, pd.CategoricalDtype) and values.cat.categories.dtype == "str":
        listed = (values.cat.categories.str.strip() == "").tolist()
        return spread(values.cat.codes.to_numpy().astype(np.int64), listed, True, "bool")
    if isinstance(values.dtype, pd.CategoricalDtype) or values.dtype == object:
        codes, found = distinct(values)
        empty = np.zeros(len(found), dtype=bool)
        for place in odd_ones(found, r".*[!-~].*"):
            value = found[place]
            empty[place] = isinstance(value, str) and not value.strip()
        return spread(codes, empty.tolist(), True, "bool")
    spaces = (values.str.strip() == "").to_numpy(dtype=bool)
    gone: npt.NDArray[np.bool_] = spaces | values.isna().to_numpy(dtype=bool)
    return gone


def _now(findings: pd.DataFrame) -> list[str]:
    return [
        f"{hours:.10g} engine hours" if hours == hours else "" if now != now else f"{now:.10g}"
        for now, hours in zip(findings["now"], findings["hours"], strict=True)
    ]


def _spread(value: object, count: int) -> list[str]:
    if isinstance(value, str):
        return [value] * count
    listed = ["" if item is None else str(item) for item in value]  # type: ignore[attr-defined]
    return listed or [""] * count


def _pick(value: str | Sequence[object], keep: npt.NDArray[np.bool_]) -> str | list[object]:
    if isinstance(value, str):
        return value
    return [item for item, wanted in zip(value, keep, strict=False) if wanted]


def _masked(values: list[str], field: str) -> list[str]:
    if field not in _CONTACT_FIELDS:
        return values
    return ["" if not value else f"(contact detail, {len(value)} characters)" for value in values]


def _frame(
    grid: Grid,
    cells: list[str],
    action: Action,
    change: tuple[list[str], list[str]],
    reason: list[str],
) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "file": grid.file,
            "sheet": grid.sheet,
            "cell": cells,
            "action": action,
            "was": change[0],
            "now": change[1],
            "reason": reason,
        },
        columns=PROBLEM_COLUMNS,
    )


def _tally_words(tally: Tally) -> str:
    return (
        f"{tally.rows} rows: {tally.used} used as written, {tally.repaired} repaired, "
        f"{tally.set_aside} set aside"
    )
