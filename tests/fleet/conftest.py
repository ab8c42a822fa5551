"""What the tests of whole workbooks share: a vocabulary, a lexicon of one word, a way to write."""

import datetime as dt

import openpyxl
import pandas as pd
import pytest

from riskcheck.fleet import read_fleet
from riskcheck.vocabulary import Derivation, Fact, Vocabulary

AS_OF = dt.date(2026, 11, 1)
VOCABULARY = Vocabulary(
    {
        "road_salt": Fact(
            "road_salt", "flag", "driven on salt", Derivation("column"), "at_random",
            headings=("salted roads",),
        ),
    }
)  # fmt: skip


class OneWord:
    """A lexicon of one word, so that these tests are about sheets and not about wording."""

    def read(self, lines):
        hits = [number for number, line in enumerate(lines) if "belt" in line]
        return pd.DataFrame(
            {
                "line_no": pd.Series(hits, dtype="int64"),
                "topic": pd.Series(["timing_belt"] * len(hits), dtype=object),
                "hazards": "timing-belt-overdue",
                "mark": pd.Series(["done"] * len(hits), dtype=object),
                "quantity": "",
                "value": float("nan"),
                "unit": "",
                "words": "belt",
                "needs_attention": False,
            }
        )


@pytest.fixture
def book(tmp_path):
    """Writes sheets (name = rows) as a workbook and gives its path."""

    def write(name="fleet.xlsx", **sheets):
        made = openpyxl.Workbook()
        made.remove(made.active)
        for title, rows in sheets.items():
            sheet = made.create_sheet(title)
            for row in rows:
                sheet.append(row)
        made.save(tmp_path / name)
        return tmp_path / name

    return write


@pytest.fixture
def read():
    """Reads a path as of 1 November 2026 and asserts that every row is accounted for."""

    def reading(path, as_of=AS_OF, **more):
        fleet = read_fleet(path, vocabulary=VOCABULARY, lexicon=OneWord(), as_of=as_of, **more)
        for tally in fleet.tallies:
            assert tally.used + tally.repaired + tally.set_aside == tally.rows
        gone = fleet.problems[fleet.problems["action"] == "set_aside"]
        assert len(gone) == sum(tally.set_aside for tally in fleet.tallies)
        return fleet

    return reading


@pytest.fixture
def told():
    """The reasons given for an action, one a line."""

    def reasons(fleet, action="set_aside"):
        return "\n".join(fleet.problems.loc[fleet.problems["action"] == action, "reason"])

    return reasons
