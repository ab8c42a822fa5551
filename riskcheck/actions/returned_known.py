"""What is known of the rows that were sent out: by their keys and by what was printed in them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd

# A row without a key is known again only if nearly all of it is what was printed (common
# practice, no source).
FOUND_AGAIN = 0.8
SHEET_KIND = "sheet"
ISSUE_COLUMNS = [
    "row_key", "contact", "customer_id", "vehicle_id", "hazard_id", "kind", "channel", "printed",
]  # fmt: skip


@dataclass(frozen=True)
class Known:
    """What is known of the rows that were sent out."""

    printed: Mapping[str, Mapping[str, str]]
    keys: frozenset[str]
    marks: frozenset[str]  # of every row of the sheets that are not for typing
    people: Mapping[str, str]  # folded customer id or contact -> customer_id
    vehicles: Mapping[str, str]  # folded vehicle id -> customer_id
    issue: pd.DataFrame

    @staticmethod
    def of(issued: pd.DataFrame, own: pd.DataFrame) -> Known:
        sheet = issued["kind"] == SHEET_KIND
        rows = pd.concat([issued[~sheet][ISSUE_COLUMNS], own], ignore_index=True).fillna("")
        rows = rows.drop_duplicates("row_key")
        printed = {
            key: json.loads(text)
            for key, text in zip(rows["row_key"], rows["printed"], strict=True)
            if text not in ("", "{}")
        }
        people = rows[rows["customer_id"] != ""]
        cars = rows[rows["vehicle_id"] != ""]
        return Known(
            printed,
            frozenset(rows["row_key"]),
            frozenset(m for text in issued.loc[sheet, "printed"] for m in json.loads(text)["rows"]),
            {str(name): str(name) for name in people["customer_id"]},
            dict(zip(cars["vehicle_id"], cars["customer_id"], strict=True)),
            own,
        )

    def share(self, key: str, row: Mapping[str, str]) -> float:
        """How much of a row is what was printed beside this key; 1 where nothing is known."""
        printed = self.printed.get(key)
        if not printed:
            return 1.0
        return sum(row.get(heading) == said for heading, said in printed.items()) / len(printed)

    def by_print(self, row: Mapping[str, str]) -> str:
        """The one key beside which nearly all of this was printed; "" if none or several."""
        if len(row) < 2:
            return ""
        found = [key for key in self.printed if self.share(key, row) >= FOUND_AGAIN]
        exact = [key for key in found if self.share(key, row) == 1.0]
        best = exact or found
        return best[0] if len(best) == 1 else ""
