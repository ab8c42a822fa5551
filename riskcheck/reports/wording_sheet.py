"""The wording worksheet: unread lines for a technician to explain, and the answers read back."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pandas as pd

from riskcheck.errors import InputError
from riskcheck.fleet.lexicon_model import NOTHING, Topic
from riskcheck.fleet.lexicon_unread import WORKSHEET_COLUMNS
from riskcheck.sheets import Column, Sheet, Workbook, read_grids

SHEET_NAME = "Wordings"
TOPIC_SHEET = "Topics"
MARKS = {
    "Done": "the complete job was done",
    "Partial": "a part of it, or a lesser job, was done",
    "Checked good": "somebody looked and it was in order",
    "Finding": "somebody looked and it was not in order",
    "Recommended": "advised, quoted, put off or refused: nothing was done",
    "Not done": "said not to have been done, or another part that only sounds alike",
    "Opens": "our own work disturbed it: it has to be looked at again",
    "Absent": "this vehicle does not have the part",
    "Complaint": "what the customer says, before anybody looked",
    "Ambiguous": "it could mean several of these: ask",
}
_HEADINGS = {
    "wording": "Wording",
    "count": "Times",
    "nearest": "Nearest known phrase",
    "about": "Which is about",
    "topic": "Topic",
    "mark": "Mark",
}
_SIGNS_A_LINE = 40  # of a wording in its column
_TITLE = (
    "Wordings that riskcheck could not read",
    "Choose a topic and a mark for each wording you are sure of; leave the rest blank. Topic "
    '"Nothing" says the wording is of no interest.',
    "When in doubt, choose Ambiguous: a job wrongly read as done may leave somebody in danger.",
)


def wording_workbook(rows: pd.DataFrame, topics: Mapping[str, Topic]) -> Workbook:
    """``rows`` as from ``lexicon_unread.worksheet_rows``, with drop-downs for topic and mark."""
    named = [_spoken(NOTHING), *(_spoken(name) for name in topics)]
    listed = f"'{TOPIC_SHEET}'!$A$3:$A${len(named) + 2}"  # below the title and the heading
    looks = {
        "wording": Column(_HEADINGS["wording"], width=46, wrap=True),
        "count": Column(_HEADINGS["count"], width=8, number_format="#,##0", align="center"),
        "nearest": Column(_HEADINGS["nearest"], width=26, wrap=True),
        "about": Column(_HEADINGS["about"], width=22, wrap=True),
        "topic": Column(_HEADINGS["topic"], width=24, choices_from=listed, input_cell=True),
        "mark": Column(_HEADINGS["mark"], width=15, choices=tuple(MARKS), input_cell=True),
    }
    body = [
        [row["wording"], int(row["count"]), row["nearest"], _spoken(row["about"]), "", ""]
        for row in rows.to_dict("records")
    ]
    meanings = [["Nothing", "of no interest here", ""]] + [
        [_spoken(name), topic.says, "; ".join(topic.hazards)] for name, topic in topics.items()
    ]
    return Workbook(
        sheets=[
            Sheet(
                SHEET_NAME,
                [looks[name] for name in WORKSHEET_COLUMNS],
                body,
                title=_TITLE,
                row_heights={
                    place: 15.0 * -(-len(str(row[0])) // _SIGNS_A_LINE)
                    for place, row in enumerate(body)
                },
            ),
            Sheet(
                TOPIC_SHEET,
                [
                    Column("Topic", width=28),
                    Column("Speaks of", width=70, wrap=True),
                    Column("Hazards", width=44, wrap=True),
                ],
                meanings,
                title=("Topics",),
            ),
            Sheet(
                "Marks",
                [Column("Mark", width=16), Column("Means", width=70, wrap=True)],
                [[mark, says] for mark, says in MARKS.items()],
                title=("Marks",),
            ),
        ],
        title=_TITLE[0],
    )


def filled_rows(path: Path) -> pd.DataFrame:
    """The rows of a filled-in worksheet, columns wording, topic, mark and row (as shown).

    The heading row is found by its words wherever it stands.  Raises InputError where no sheet
    has them.
    """
    wanted = [_HEADINGS[name] for name in ("wording", "topic", "mark")]
    for grid in read_grids(path):
        cells = grid.cells.astype(object).where(grid.cells.notna(), "")
        for position in range(len(cells)):
            headings = [str(cell).strip() for cell in cells.iloc[position]]
            if set(wanted) <= set(headings):
                body = cells.iloc[position + 1 :]
                found = {
                    name.lower(): [str(cell) for cell in body.iloc[:, headings.index(name)]]
                    for name in wanted
                }
                return pd.DataFrame(found).assign(row=[grid.row_number(at) for at in body.index])
    raise InputError(
        f"{path.name} has no row with the headings {', '.join(wanted)}: "
        "write a worksheet with read --unread FILE.xlsx and fill that in."
    )


def _spoken(name: str) -> str:
    return name.replace("_", " ").capitalize()
