"""The shop's manners on the telephone and who it is: two sections of ``rules/policy.yaml``."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from riskcheck.figures import Figure, SourceTag

TimeOfDay = Annotated[str, Field(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class ContactHours(_Strict):
    """Between which times of the called party's own day a call or text may be made."""

    earliest: TimeOfDay
    latest: TimeOfDay
    source: SourceTag
    citation: str = ""


class Etiquette(_Strict):
    """How often, when and for what a customer is contacted.

    ``reach_share`` of those called are reached and ``booking_share`` of those reached book; both
    bound how many calls fit into the ``free_share`` of bay hours that ordinary work leaves.
    ``cool_down`` days lie between two contacts of one
    customer, at most ``topics_a_year`` topics are raised in a year, an open attempt is repeated
    ``attempts`` times.  A declined reason is raised again after ``ask_again_after`` days, and only
    if something changed, be it ``changed_miles``.  A job whose parts take longer than
    ``parts_wait`` days is not offered yet.  ``relationship`` is how long after the last visit a
    sales call may be made without consent.  ``holdout`` of the contacts that are about money only
    are left alone for a quarter, to learn whether calling helps.  ``lift_visit`` minutes is the
    longest look offered at one visit.  None of the limits holds back a safety contact.
    """

    hours: ContactHours
    reach_share: Figure
    booking_share: Figure
    free_share: Figure
    cool_down: Figure
    topics_a_year: Figure
    attempts: Figure
    ask_again_after: Figure
    changed_miles: Figure
    parts_wait: Figure
    relationship: Figure
    holdout: Figure
    lift_visit: Figure
    right_ends_within: Figure
    counsel: str


class Shop(_Strict):
    """Who writes: shown in every message; an e-mail needs a postal address."""

    name: str = ""
    phone: str = ""
    address: str = ""
    email: str = ""
