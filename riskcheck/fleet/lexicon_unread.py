"""Wordings nobody has taught the lexicon yet, and the worksheet on which a shop explains them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

import pandas as pd
from rapidfuzz import fuzz, process

from riskcheck.errors import InputError
from riskcheck.fleet.lexicon_clauses import expand
from riskcheck.fleet.lexicon_model import NOTHING, Wording
from riskcheck.vocabulary import MARK_ORDER

UNREAD_COLUMNS = ("wording", "count", "nearest", "nearest_subject", "similarity")
WORKSHEET_COLUMNS = ("wording", "count", "nearest", "topic", "mark")
_FAINT = 55.0


def unread_frame(
    wordings: Sequence[str], counts: Sequence[int], canonical: Sequence[str], wording: Wording
) -> pd.DataFrame:
    """Unread wordings by frequency, each with the nearest phrase the lexicon knows.

    Columns: wording, count (int64), nearest and nearest_subject ("" if nothing is near),
    similarity (float64, 0 to 100; rapidfuzz's weighted ratio).
    """
    known = {
        " ".join(words): name
        for name, subject in wording.subjects.items()
        for called in subject.called
        for words in expand(called.lower())
    }
    phrases = sorted(known)
    rows = []
    for text, count, plain in zip(wordings, counts, canonical, strict=True):
        near = process.extractOne(plain, phrases, scorer=fuzz.WRatio, score_cutoff=_FAINT)
        phrase, score = (near[0], round(float(near[1]), 1)) if near else ("", 0.0)
        rows.append((text, int(count), phrase, known.get(phrase, ""), score))
    frame = pd.DataFrame(rows, columns=list(UNREAD_COLUMNS))
    frame = frame.astype({"count": "int64", "similarity": "float64"})
    return frame.sort_values(["count", "wording"], ascending=[False, True], ignore_index=True)


def worksheet_rows(unread: pd.DataFrame) -> pd.DataFrame:
    """The worksheet to fill in: ``topic`` and ``mark`` are empty, one row a wording."""
    sheet = unread[["wording", "count", "nearest"]].copy()
    sheet["topic"] = ""
    sheet["mark"] = ""
    return sheet[list(WORKSHEET_COLUMNS)]


def read_worksheet_rows(sheet: pd.DataFrame, topics: Collection[str]) -> dict[str, Any]:
    """A filled-in worksheet as the content of a wording file (plain data, ready for YAML).

    Rows without a topic stay unread.  The topic "nothing" says the wording is of no interest.
    Raises InputError with one line per faulty row, counted as a spreadsheet shows it.
    """
    missing = [name for name in ("wording", "topic", "mark") if name not in sheet.columns]
    if missing:
        raise InputError(f"the wording worksheet has no column {', '.join(missing)}; put it back")
    faults: list[str] = []
    lines: list[dict[str, str]] = []
    for place, row in enumerate(sheet[["wording", "topic", "mark"]].itertuples(index=False)):
        text, topic, mark = (_cell(each) for each in row)
        topic, mark = topic.lower().replace(" ", "_"), mark.lower().replace(" ", "_")
        if not topic and not mark:
            continue
        fault = _fault(text, topic, mark, topics)
        if fault:
            faults.append(f"wording worksheet, row {place + 2}: {fault}")
        else:
            lines.append(
                {"wording": text, "topic": topic, "mark": "" if topic == NOTHING else mark}
            )
    if faults:
        raise InputError("\n".join(faults))
    return {"lines": lines}


def _fault(text: str, topic: str, mark: str, topics: Collection[str]) -> str:
    if not text:
        return "the wording is empty; copy it back from the list"
    if topic == NOTHING:
        return ""
    if topic not in topics:
        near = process.extractOne(topic, sorted(topics)) if topic else None
        hint = f"; did you mean {near[0]}?" if near else "; write a topic, or nothing"
        return f"no topic is called {topic or '(empty)'}{hint}"
    if mark not in MARK_ORDER:
        return f"no mark is called {mark or '(empty)'}; use {', '.join(MARK_ORDER)}"
    return ""


def _cell(value: object) -> str:
    return "" if value is None or value != value else str(value).strip()
