"""Wordings nobody has taught the lexicon yet, and the worksheet on which a shop explains them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
from rapidfuzz import fuzz, process

from riskcheck import yamlfile
from riskcheck.errors import InputError
from riskcheck.fleet.lexicon_clauses import expand
from riskcheck.fleet.lexicon_model import NOTHING, Wording, topics_of
from riskcheck.sheets import replace_file
from riskcheck.vocabulary import MARK_ORDER

UNREAD_COLUMNS = ("wording", "count", "nearest", "nearest_subject", "similarity")
WORKSHEET_COLUMNS = ("wording", "count", "nearest", "about", "topic", "mark")
TAUGHT_FILE = "taught.yaml"
_FAINT = 65.0  # below it the nearest phrase misleads (choice, no source)


def unread_frame(
    wordings: Sequence[str], counts: Sequence[int], canonical: Sequence[str], wording: Wording
) -> pd.DataFrame:
    """Unread wordings by frequency, each with the nearest phrase the lexicon knows.

    Columns: wording, count (int64), nearest and nearest_subject ("" if nothing is near),
    similarity (float64, 0 to 100; rapidfuzz's token sort ratio).
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
        near = process.extractOne(plain, phrases, scorer=fuzz.token_sort_ratio, score_cutoff=_FAINT)
        phrase, score = (near[0], round(float(near[1]), 1)) if near else ("", 0.0)
        rows.append((text, int(count), phrase, known.get(phrase, ""), score))
    frame = pd.DataFrame(rows, columns=list(UNREAD_COLUMNS))
    frame = frame.astype({"count": "int64", "similarity": "float64"})
    return frame.sort_values(["count", "wording"], ascending=[False, True], ignore_index=True)


def worksheet_rows(unread: pd.DataFrame, wording: Wording) -> pd.DataFrame:
    """The worksheet to fill in: ``topic`` and ``mark`` are empty, one row a wording.

    ``about``: the topic of the nearest known phrase, as a hint.
    """
    sheet = unread[["wording", "count", "nearest"]].copy()
    sheet["about"] = [_about(wording, name) for name in unread["nearest_subject"]]
    sheet["topic"] = ""
    sheet["mark"] = ""
    return sheet[list(WORKSHEET_COLUMNS)]


def read_worksheet_rows(sheet: pd.DataFrame, topics: Collection[str]) -> dict[str, Any]:
    """A filled-in worksheet as the content of a wording file (plain data, ready for YAML).

    Rows without a topic stay unread.  The topic "nothing" says the wording is of no interest.
    Raises InputError with one line per faulty row, counted as a spreadsheet shows it (column
    ``row`` where there is one, else the first is row 2).
    """
    missing = [name for name in ("wording", "topic", "mark") if name not in sheet.columns]
    if missing:
        raise InputError(f"the wording worksheet has no column {', '.join(missing)}; put it back")
    faults: list[str] = []
    lines: list[dict[str, str]] = []
    rows = sheet["row"] if "row" in sheet.columns else range(2, len(sheet) + 2)
    cells = sheet[["wording", "topic", "mark"]].itertuples(index=False)
    for place, row in zip(rows, cells, strict=True):
        text, topic, mark = (_cell(each) for each in row)
        topic, mark = topic.lower().replace(" ", "_"), mark.lower().replace(" ", "_")
        if not topic and not mark:
            continue
        fault = _fault(text, topic, mark, topics)
        if fault:
            faults.append(f"wording worksheet, row {place}: {fault}")
        else:
            lines.append(
                {"wording": text, "topic": topic, "mark": "" if topic == NOTHING else mark}
            )
    if faults:
        raise InputError("\n".join(faults))
    return {"lines": lines}


def teach(sheet: pd.DataFrame, folder: Path, wording: Wording) -> tuple[Path, int]:
    """Keep a filled-in worksheet as ``folder``/wording/taught.yaml; (the file, rows taught).

    What the file already taught stays; a wording answered anew replaces its old meaning.  Raises
    InputError with one line per faulty row, where no row is filled in, or where the file there
    cannot be understood.
    """
    lines = read_worksheet_rows(sheet, wording.topics)["lines"]
    if not lines:
        raise InputError("No row of the worksheet has a topic and a mark: nothing to teach.")
    path = folder / "wording" / TAUGHT_FILE
    before: list[dict[str, str]] = []
    if path.exists():
        document = yamlfile.read(path)
        if document.faults or not isinstance(document.data, dict):
            raise InputError(f"{path} cannot be understood; mend it or move it away first.")
        before = document.data.get("lines", [])
    answered = {each["wording"] for each in lines}
    kept = [each for each in before if each["wording"] not in answered]
    text = yamlfile.dump({"lines": kept + lines})
    return replace_file(path, text.encode("utf-8")), len(lines)


def _about(wording: Wording, subject: str) -> str:
    topics = topics_of(wording.subjects[subject]) if subject else ()
    return topics[0] if topics else ""


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
