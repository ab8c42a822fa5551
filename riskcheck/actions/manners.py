"""How often and for what a customer is contacted: a reason code where silence is better today.

None of these limits is applied to safety contacts or to our own open work.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date

import pandas as pd

from riskcheck.actions.contact_log import NO_REPLY, UNANSWERED
from riskcheck.actions.etiquette import BAY_RESULTS, DECLINED, ENDS_TALK
from riskcheck.rulebook.etiquette_policy import Etiquette
from riskcheck.rulebook.model import Policy

# After an open attempt: again on the third day, then on the tenth (common practice, no source).
RETRY_DAYS = (3, 10)
NEW_ARGUMENTS = frozenset({"new", "up"})


@dataclass(frozen=True)
class Talk:
    """One customer's contacts so far, oldest first: dates, results and topics."""

    dates: tuple[date, ...]
    results: tuple[str, ...]
    topics: tuple[str, ...]

    @staticmethod
    def of(log: pd.DataFrame) -> Talk:
        """From rows of the contact log of one customer.

        What the bay saw is no contact, nor is a stranger at a wrong number; an answer about one
        hazard of one vehicle is weighed where that hazard is (see ``declined``), unless nothing
        else was noted that day.
        """
        log = log[~log["result"].isin((*BAY_RESULTS, "wrong_number"))]
        whole_days = log.loc[log["hazard_id"].eq(""), "date"]
        log = log[log["hazard_id"].eq("") | ~log["date"].isin(whole_days)]
        topics = log["hazard_id"].where(log["hazard_id"].ne(""), log["topic"])
        return Talk(
            tuple(pd.Timestamp(day).date() for day in log["date"]),
            tuple(log["result"].astype(str)),
            tuple(topics.astype(str)),
        )

    def open_attempts(self) -> int:
        """On how many days in a row, up to the last, nobody was reached."""
        days = set()
        for day, result in zip(reversed(self.dates), reversed(self.results), strict=True):
            if result not in UNANSWERED:
                break
            days.add(day)
        return len(days)

    def last_refusal(self) -> date | None:
        """The day of the last real answer, if that was a no."""
        answered = [at for at, said in enumerate(self.results) if said not in NO_REPLY]
        if not answered or self.results[answered[-1]] not in DECLINED:
            return None
        return self.dates[answered[-1]]

    def topics_since(self, day: date) -> int:
        """Distinct topics raised on or after ``day``; a topic without a name counts by itself.

        One call covers all vehicles of a customer, so a day counts once at most.
        """
        own = [
            topic or f"contact {at}"
            for at, (when, topic) in enumerate(zip(self.dates, self.topics, strict=True))
            if when >= day
        ]
        return min(len(set(own)), len({when for when in self.dates if when >= day}))


@dataclass(frozen=True)
class Change:
    """What is new since a customer said no: miles driven, a season begun, reasons that moved up."""

    miles: float = 0.0
    season: str = ""
    moved: int = 0

    def is_enough(self, etiquette: Etiquette) -> bool:
        """Whether any of it is worth asking again for."""
        return bool(
            self.miles >= etiquette.changed_miles.value or self.season or self.moved
        )  # fmt: skip


def why_not_now(talk: Talk, as_of: date, etiquette: Etiquette, change: Change) -> str:
    """The reason code why a customer is left alone today; empty where a contact is in order.

    booked_lately, tried_lately, tried_enough, cool_down, topics_a_year, nothing_changed.
    """
    if not talk.dates:
        return ""
    days = (as_of - talk.dates[-1]).days
    last = talk.results[-1]
    attempts = talk.open_attempts()
    if attempts:
        if attempts >= etiquette.attempts.value:
            return "tried_enough" if days < etiquette.cool_down.value else ""
        return "tried_lately" if days < RETRY_DAYS[min(attempts, len(RETRY_DAYS)) - 1] else ""
    if last in DECLINED:
        if days < etiquette.ask_again_after.value:
            return "cool_down"
        return "" if change.is_enough(etiquette) else "nothing_changed"
    if days < etiquette.cool_down.value:
        return "booked_lately" if last == "booked" else "cool_down"
    year_ago = date.fromordinal(as_of.toordinal() - 365)
    if talk.topics_since(year_ago) >= etiquette.topics_a_year.value:
        return "topics_a_year"
    return ""


def held_out(customer_id: str, as_of: date, share: float) -> bool:
    """Whether a customer is among those left alone this quarter, by hash of both.

    The same customer and quarter always give the same answer; about ``share`` of all are left out.
    """
    quarter = f"{as_of.year}Q{(as_of.month - 1) // 3 + 1}"
    digest = hashlib.sha256(f"{customer_id}|{quarter}".encode()).digest()
    return int.from_bytes(digest[:8], "big") / 2.0**64 < share


def season_begun(since: date, until: date, policy: Policy) -> str:
    """The first season of the policy that began after ``since`` and by ``until``; "" if none."""
    begun = []
    for name, month_day in policy.seasons.items():
        month, day = (int(part) for part in month_day.split("-"))
        for year in range(since.year, until.year + 1):
            starts = date(year, month, day)
            if since < starts <= until:
                begun.append((starts, name))
    return min(begun)[1] if begun else ""


def ended_reasons(log: pd.DataFrame) -> dict[tuple[str, str], str]:
    """(vehicle_id, hazard_id) whose talk has ended, with the result that ended it.

    A result that names no hazard speaks for the whole vehicle (hazard_id "").
    """
    last = log[log["vehicle_id"].ne("")].drop_duplicates(["vehicle_id", "hazard_id"], keep="last")
    ended = last[last["result"].isin(ENDS_TALK - {"opt_out", "wrong_number"})]
    return {
        (str(row["vehicle_id"]), str(row["hazard_id"])): str(row["result"])
        for row in ended.to_dict("records")
    }
