"""Work that was offered and declined, as the service record tells it, signed or not."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

import pandas as pd

from riskcheck.actions.etiquette import DECLINED
from riskcheck.rulebook.model import Hazard

COLUMNS = ["vehicle_id", "hazard_id", "date", "odometer_mi", "line", "signed"]
_DECLINED = re.compile(
    r"\b(?:declin\w*|decl|refus\w*|not auth\w*|cust(?:omer)? said no|deferred|postponed|c/d)\b",
    re.I,
)
_SIGNED = re.compile(r"\b(?:signed|initial(?:s|ed|led)?|sig(?:nature)? on file)\b", re.I)
PAIR = ["vehicle_id", "hazard_id"]
_CURES = ("done", "proof", "checked_good")


def declined_work(events: pd.DataFrame, hazards: Mapping[str, Hazard]) -> pd.DataFrame:
    """The latest declined offer of each vehicle and hazard that no later job has answered.

    ``events``: vehicle_id, date_lo, date_hi, odometer_mi, topic, mark, line.  Returns ``COLUMNS``:
    date (datetime64) of the offer, the line as written, and whether the line says it was signed.
    """
    topics = pd.DataFrame(
        [(topic, hazard.id) for hazard in hazards.values() for topic in _topics(hazard)],
        columns=["topic", "hazard_id"],
    )
    own = events[["vehicle_id", "date_hi", "odometer_mi", "topic", "mark", "line"]].merge(
        topics, on="topic"
    )
    lines = own["line"].astype(str)
    offers = own[own["mark"].eq("recommended") & lines.str.contains(_DECLINED)]
    last = offers.sort_values("date_hi", kind="stable").drop_duplicates(PAIR, keep="last")
    cured = own[own["mark"].isin(_CURES)].groupby(PAIR)["date_hi"].max()
    later = pd.MultiIndex.from_frame(last[PAIR])
    answered = cured.reindex(later).to_numpy() > last["date_hi"].to_numpy()
    open_ = last[~answered].rename(columns={"date_hi": "date"})
    signed = open_["line"].astype(str).str.contains(_SIGNED)
    return open_.assign(signed=signed)[COLUMNS].reset_index(drop=True)


def with_answers(declined: pd.DataFrame, log: pd.DataFrame) -> pd.DataFrame:
    """The same with what customers said no to when asked about one hazard; the later one counts.

    ``log``: see ``contact_log``; an answer other than a no takes an earlier no back.
    """
    asked = log[log["vehicle_id"].ne("") & log["hazard_id"].ne("")]
    last = asked.drop_duplicates(PAIR, keep="last")
    no = last[last["result"].isin(DECLINED)]
    answers = pd.DataFrame(
        {
            **{name: no[name] for name in PAIR},
            "date": no["date"],
            "odometer_mi": math.nan,
            "line": no["note"].where(no["note"].ne(""), "said no when asked"),
            "signed": no["result"].eq("declined_signed"),
        }
    )
    if answers.empty:
        return declined
    both = pd.concat([frame for frame in (declined, answers) if len(frame)], ignore_index=True)
    both = both.sort_values("date", kind="stable").drop_duplicates(PAIR, keep="last")
    return both[COLUMNS].reset_index(drop=True)


def of_present_owners(declined: pd.DataFrame, vehicles: pd.DataFrame) -> pd.DataFrame:
    """Without what an earlier owner declined (``vehicles``: vehicle_id, owner_since if known)."""
    if "owner_since" not in vehicles or vehicles.empty:
        return declined
    since = vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id")["owner_since"]
    began = pd.to_datetime(declined["vehicle_id"].map(since))
    return declined[began.isna() | (declined["date"] >= began)].reset_index(drop=True)


def _topics(hazard: Hazard) -> list[str]:
    recorded = [event for remedy in hazard.remedies for event in remedy.recorded_as]
    return sorted({topic for event in recorded for topic in event.topics})
