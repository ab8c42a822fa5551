"""Which vehicle a row speaks of: by VIN, id, unit number or plate, and only if it is sure."""

from __future__ import annotations

import re
from functools import cached_property

import pandas as pd

from riskcheck.fleet.distinct import coded_from, combinations, distinct
from riskcheck.fleet.identity import key
from riskcheck.fleet.reused import Span, owner_on, spans_of, with_seen

_REFERENCES = ("vin", "vehicle_id", "unit", "plate")
_PREFIX = re.compile(r"^(UNIT|TRUCK|VAN|BUS|VEHICLE|VEH|CAR|NO)(?=\d)")
_AMBIGUOUS = "\x00"
_SHARED_BY = "more than one vehicle goes by"


class Directory:
    """All names a vehicle goes by; a name that two vehicles share answers nothing."""

    def __init__(self, vehicles: pd.DataFrame) -> None:
        self._vehicles = vehicles
        self._names: dict[str, str] = {}
        self._shared: dict[str, list[str]] = {}
        for field in _REFERENCES:
            for name, vehicle in zip(vehicles[field], vehicles["vehicle_id"], strict=True):
                if name:
                    self._learn(self._names, key(name), vehicle)
        for vin, vehicle in zip(vehicles["vin"], vehicles["vehicle_id"], strict=True):
            if len(vin) == 17:  # the last eight are how shops name a vehicle by its VIN
                self._learn(self._names, vin[-8:], vehicle)

    @cached_property
    def _loose(self) -> dict[str, str]:
        """Names without zeros and words in front, for those that are not found as written."""
        loose: dict[str, str] = {}
        for name, vehicle in self._names.items():
            for form in _loose_forms(name):
                self._learn(loose, form, vehicle)
        return loose

    @cached_property
    def _spans(self) -> dict[str, Span]:
        return spans_of(self._vehicles)

    @property
    def first_days(self) -> dict[str, pd.Timestamp]:
        """The day each vehicle came into service, where the vehicle sheet says so."""
        return {
            vehicle: span.first for vehicle, span in self._spans.items() if pd.notna(span.first)
        }

    def _learn(self, names: dict[str, str], name: str, vehicle: str) -> None:
        if not name:
            return
        before = names.setdefault(name, vehicle)
        if before != vehicle:
            names[name] = _AMBIGUOUS
            if names is self._names:
                listed = self._shared.setdefault(name, [before])
                self._shared[name] = list(dict.fromkeys([*listed, vehicle]))

    def find(self, written: str) -> tuple[str, str]:
        """(vehicle_id or "", reason): exact first, then without zeros and words, if unique."""
        name = key(written)
        if not name:
            return "", ""
        exact = self._names.get(name)
        if exact == _AMBIGUOUS:
            return "", f"{_SHARED_BY} {written!r}: give the VIN on this row"
        if exact:
            return exact, ""
        for loose in (name, *_loose_forms(name)):
            found = self._loose.get(loose, "")
            if found and found != _AMBIGUOUS:
                return found, f"{written!r} read as vehicle {found!r}, the only one that fits"
        return (
            "",
            f"no vehicle sheet row goes by {written!r}: add it there, or correct the name here",
        )

    def resolve(self, references: pd.DataFrame, dates: pd.Series | None = None) -> pd.DataFrame:
        """Columns vehicle_id and reason for rows of any of vin, vehicle_id, unit, plate.

        The first reference that names one vehicle decides; a later one that names another is
        reported.  ``dates`` settle whose a number was that two vehicles had one after the other.
        Both columns are categorical.
        """
        found = self._by_name(references)
        if dates is None or not self._shared:
            return found
        open_ = found["reason"].astype(object).str.startswith(_SHARED_BY)
        if not open_.any():
            return found
        return self._by_date(references, dates, found.astype(object), open_)

    def _by_date(
        self, references: pd.DataFrame, dates: pd.Series, found: pd.DataFrame, open_: pd.Series
    ) -> pd.DataFrame:
        sure = (found["vehicle_id"] != "") & dates.notna()
        spans = with_seen(self._spans, found.loc[sure, "vehicle_id"], dates[sure])
        present = [field for field in _REFERENCES if field in references]
        rows = open_[open_ & dates.notna()].index
        shared = pd.Series("", index=rows, dtype=object)
        for field in reversed(present):
            names = references.loc[rows, field].map(key).astype(object)
            shared = names.where(names.isin(list(self._shared)), shared)
        for name, group in shared.groupby(shared):
            owners = owner_on(dates[group.index], self._shared.get(str(name), []), spans)
            settled = pd.Series(owners, index=group.index, dtype=object)
            settled = settled[settled != ""]
            found.loc[settled.index, "vehicle_id"] = settled
            found.loc[settled.index, "reason"] = (
                f"the number {name!r} was used for more than one vehicle: settled by date"
            )
        return found.astype("category")

    def _by_name(self, references: pd.DataFrame) -> pd.DataFrame:
        present = [field for field in _REFERENCES if field in references]
        if not present:
            blank = pd.Series("", index=references.index, dtype="category")
            return pd.DataFrame({"vehicle_id": blank, "reason": blank})
        columns = [distinct(references[field]) for field in present]
        places, first = combinations([codes for codes, _ in columns])
        found = []
        for row in first:
            names = tuple(str(texts[codes[row]]) for codes, texts in columns)
            found.append(self._settle(names))
        return pd.DataFrame(
            {
                "vehicle_id": coded_from(places, [vehicle for vehicle, _ in found]),
                "reason": coded_from(places, [reason for _, reason in found]),
            }
        ).set_axis(references.index)

    def _settle(self, names: tuple[str, ...]) -> tuple[str, str]:
        answers = [(name, *self.find(name)) for name in names if name]
        good = [(name, vehicle, reason) for name, vehicle, reason in answers if vehicle]
        if not good:
            return "", answers[0][2] if answers else "no vehicle is named on this row"
        name, vehicle, reason = good[0]
        others = {other for _, other, _ in good if other != vehicle}
        if others:
            reason = f"{name!r} was followed; another name on this row means {sorted(others)[0]!r}"
        return vehicle, reason


def _loose_forms(name: str) -> list[str]:
    bare = _PREFIX.sub("", name)
    forms = {bare, bare.lstrip("0"), name.lstrip("0")}
    return sorted(form for form in forms if form)
