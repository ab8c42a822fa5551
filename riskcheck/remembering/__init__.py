"""Between a run and the ledger: what is kept, what came back, what changed, what came of it."""

from riskcheck.remembering.changes import Changes, changes, earlier_run
from riskcheck.remembering.recording import (
    Recorded,
    checked_find,
    holds_unrecorded,
    is_outcome,
    record_find,
    record_statement,
    record_workbooks,
    stated_fact,
)
from riskcheck.remembering.runs import note_issue, note_run, run_before, run_id_of, snapshot_of
from riskcheck.remembering.tally import Rate, Tally, tally, wilson

__all__ = [
    "Changes",
    "Rate",
    "Recorded",
    "Tally",
    "changes",
    "checked_find",
    "earlier_run",
    "holds_unrecorded",
    "is_outcome",
    "note_issue",
    "note_run",
    "record_find",
    "record_statement",
    "record_workbooks",
    "run_before",
    "run_id_of",
    "snapshot_of",
    "stated_fact",
    "tally",
    "wilson",
]
