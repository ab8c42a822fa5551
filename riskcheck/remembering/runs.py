"""What a run leaves in the ledger: its conclusions as known then, and what it sent out."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from riskcheck.actions.returned import read_issue
from riskcheck.assessment import Assessment
from riskcheck.ledger import Ledger, Run
from riskcheck.reasoning.corrected import LEDGER
from riskcheck.rulebook import Rulebook

KEPT = [
    "vehicle_id", "hazard_id", "customer_id", "status", "evidence", "tier", "rank", "probability",
    "probability_low", "probability_high", "probability_now", "risk_level", "cost_if_fails",
    "cost_to_prevent", "act_by_date",
]  # fmt: skip
REST_OF_RULES = ""  # the name under which facts, wordings, platforms and policy are digested
DIGITS = 12
Joined = Callable[[pd.Series], pd.Series]


def run_id_of(run: Assessment, ledger_digest: str) -> str:
    """12 hex digits that the same input, day, horizon and ledger give again."""
    said = "|".join(
        (run.digests["fleet"], run.digests["rules"], run.as_of.isoformat(),
         str(run.horizon_months), ledger_digest)
    )  # fmt: skip
    return hashlib.sha256(said.encode()).hexdigest()[:DIGITS]


def note_run(
    ledger: Ledger, run: Assessment, *, at: dt.datetime, listed: pd.DataFrame | None = None
) -> str:
    """Keep what a run concluded and end the corrections that its record contradicts.

    ``listed``: vehicle_id, hazard_id of what goes onto call sheets.  Returns the run id.  Call it
    before the workbook is written: a run without a workbook harms nobody, the reverse does.
    """
    run_id = run_id_of(run, ledger.digest())
    rows = snapshot_of(run, ledger.corrections(run.as_of), listed)
    told = pd.util.hash_pandas_object(rows.astype(str), index=False).to_numpy()
    ledger.record_run(
        Run(
            run_id,
            at,
            run.as_of,
            run.horizon_months,
            str(run.path),
            run.digests["fleet"],
            run.digests["rules"],
            hazard_digests(run.rulebook),
            hashlib.sha256(told.tobytes()).hexdigest(),
        ),
        rows,
    )
    expired = run.reasoning.evidence.expired
    if len(expired):
        ledger.end_corrections(expired, at=at)
    return run_id


def run_before(runs: pd.DataFrame, run_id: str, as_of: dt.date) -> Any:
    """The newest other run for that day or an earlier one, a row of ``Ledger.runs``; None if none.

    A run that is repeated with nothing new is compared with the run before it, so that it says
    the same again.
    """
    own = runs.loc[runs["run_id"].eq(run_id), "number"]
    earlier = runs[runs["run_id"].ne(run_id) & (runs["as_of"] <= pd.Timestamp(as_of))]
    if len(own):
        earlier = earlier[earlier["number"] < own.iloc[0]]
    return None if earlier.empty else earlier.sort_values("number").iloc[-1]


def note_issue(ledger: Ledger, workbook: Path) -> str:
    """Keep what was printed in a workbook just written, by reading it back; returns its run id."""
    run_id, rows = read_issue(workbook)
    ledger.record_issue(run_id, rows)
    return run_id


def hazard_digests(book: Rulebook) -> dict[str, str]:
    """A digest of each hazard, and under "" of all rules together."""
    own = {
        name: hashlib.sha256(hazard.model_dump_json().encode()).hexdigest()[:16]
        for name, hazard in book.hazards.items()
    }
    return {REST_OF_RULES: book.digest, **own}


def snapshot_of(
    run: Assessment, corrections: pd.DataFrame, listed: pd.DataFrame | None = None
) -> pd.DataFrame:
    """One row per vehicle and hazard, in the columns of ``Ledger.snapshot``.

    Pairs that do not apply are among them: should one apply later, the record and the corrections
    of then say why.
    """
    rows = run.exposures
    rows = rows[KEPT].assign(key_value=rows["x_key_value"]).reset_index(drop=True)
    pairs = pd.MultiIndex.from_frame(rows[["vehicle_id", "hazard_id"]])
    rows["listed"] = 0
    if listed is not None and len(listed):
        wanted = pd.MultiIndex.from_frame(listed[["vehicle_id", "hazard_id"]])
        rows["listed"] = pairs.isin(wanted).astype(int)
    rows["record_digest"] = record_digests(run).reindex(pairs).fillna("").to_numpy()
    rows["corrections"] = _in_force(run, corrections).reindex(pairs).fillna("").to_numpy()
    return rows


def record_digests(run: Assessment) -> pd.Series:
    """16 hex digits by (vehicle_id, hazard_id) over what the record says on the hazard's facts.

    Words and dates only: neither where they stand nor what follows from time passing.
    """
    said = run.reasoning.evidence.provenance
    said = said[said["file"] != LEDGER]
    marks = pd.util.hash_pandas_object(said[["fact", "words", "date"]].astype(str), index=False)
    by_fact = marks.groupby([said["vehicle_id"].to_numpy(), said["fact"].to_numpy()]).sum()
    return _by_hazard(run, by_fact, lambda one: one.groupby(level=0).sum().map("{:016x}".format))


def _in_force(run: Assessment, corrections: pd.DataFrame) -> pd.Series:
    """Numbers of the live corrections behind each (vehicle_id, hazard_id), joined with "; "."""
    expired = set(run.reasoning.evidence.expired["correction_id"])
    live = corrections[~corrections["correction_id"].isin(expired)]
    by_fact = pd.Series(
        live["correction_id"].astype(str).to_numpy(dtype=object),
        index=pd.MultiIndex.from_arrays([live["vehicle_id"], live["fact"]]),
        dtype=object,
    )
    return _by_hazard(run, by_fact, lambda one: one.groupby(level=0).agg("; ".join))


def _by_hazard(run: Assessment, by_fact: pd.Series, joined: Joined) -> pd.Series:
    """What belongs to (vehicle, fact), put together for each hazard over the facts it reads."""
    fact = by_fact.index.get_level_values(1)
    parts = {}
    for name, compiled in run.reasoning.compiled.items():
        own = by_fact[np.isin(fact.to_numpy(dtype=object).astype(str), list(compiled.facts))]
        if len(own):
            parts[name] = joined(own)
    if not parts:
        return pd.Series(dtype=object, index=pd.MultiIndex.from_arrays([[], []]))
    whole = pd.concat(parts)
    return whole.swaplevel()
