"""What became of work that was declined in the record: whether and with what to ask again."""

from __future__ import annotations

import pandas as pd

from riskcheck.actions.declined import PAIR
from riskcheck.actions.known import Known
from riskcheck.actions.manners import Change, season_begun
from riskcheck.rulebook.model import Policy


def with_refusals(rows: pd.DataFrame, known: Known) -> pd.DataFrame:
    """``rows`` with declined_date, _line, _signed, _miles (NaT, "", False, NaN where nothing was).

    Miles are those driven since, by odometer, else by the middle rate.
    """
    own = known.declined
    odometer = known.vehicles.drop_duplicates("vehicle_id").set_index("vehicle_id")["odometer_mi"]
    now = pd.to_numeric(own["vehicle_id"].map(odometer), errors="coerce")
    years = (pd.Timestamp(known.as_of) - own["date"]).dt.days / 365.25
    by_rate = own["vehicle_id"].map(known.miles_a_year) * years
    told = pd.DataFrame(
        {
            **{name: own[name] for name in PAIR},
            "declined_date": own["date"],
            "declined_line": own["line"],
            "declined_signed": own["signed"],
            "declined_miles": (now - own["odometer_mi"]).where(lambda m: m >= 0.0, by_rate),
        }
    )
    joined = rows.reset_index().merge(told, on=PAIR, how="left").set_index("index")
    joined.index.name = rows.index.name
    was = joined["declined_date"].notna()
    line = joined["declined_line"].astype(object).where(was, "")
    return joined.assign(declined_line=line, declined_signed=joined["declined_signed"].eq(True))


def seasons_since(rows: pd.DataFrame, known: Known, policy: Policy) -> pd.Series:
    """The first season that began since each refusal (n,), "" where none did."""
    begun = [
        "" if pd.isna(day) else season_begun(pd.Timestamp(day).date(), known.as_of, policy)
        for day in rows["declined_date"]
    ]
    return pd.Series(begun, index=rows.index, dtype=object)


def declined_lately(rows: pd.DataFrame, known: Known, policy: Policy) -> pd.Series:
    """Whether a declined reason rests for now (n,): too fresh, or nothing has changed since."""
    told = with_refusals(rows[PAIR], known)
    days = (pd.Timestamp(known.as_of) - told["declined_date"]).dt.days
    seasons = seasons_since(told, known, policy)
    changed = [
        Change(0.0 if pd.isna(miles) else float(miles), season).is_enough(policy.etiquette)
        for miles, season in zip(told["declined_miles"], seasons, strict=True)
    ]
    fresh = days < policy.etiquette.ask_again_after.value
    rests: pd.Series = fresh | ~pd.Series(changed, index=told.index)
    return rests & told["declined_date"].notna()
