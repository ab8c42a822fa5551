"""How the chance of one exposure is told: one form of words for every output.

Four things can be so.  It was found: no matter of chance.  It is known to apply: a count with its
range.  It is not known whether it applies: how many of those described alike it applies to, then
the count among these; a range over both together ("0 to 100") would inform nobody.  Or the range
is as wide as that although it applies: then which unknown makes it so, and what tells.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any, Literal

import pandas as pd

from riskcheck.explain.view import Chance
from riskcheck.explain.weighing import by_look_of, if_it_applies_of
from riskcheck.reports import words
from riskcheck.rulebook.model import Hazard

Row = Mapping[Hashable, Any]
Form = Literal["found", "none", "plain", "if_it_applies", "wide"]
# "0 to 100 of 100" tells nobody anything (common practice, no source).
WIDEST_RANGE = 0.80
# Once it does not apply to 5 of 100, the low end of a 90 % range is nought whatever the part does;
# a little above, so that rounding does not decide.
APPLIES_SURELY = 0.955
MOST_LIKELY = 0.90  # common practice, no source


def form(row: Row) -> Form:
    """Which of the forms of words is true of an exposure."""
    if row["evidence"] == "confirmed":
        return "found"
    if pd.isna(row["probability"]):
        return "none"
    if row["exposed_weight"] < APPLIES_SURELY:
        return "if_it_applies"
    return "wide" if _informs_nobody(_overall(row)) else "plain"


def chance(
    row: Row, hazard: Hazard, months: int, of: int | None = None, *, look: bool = True
) -> str:
    """The chance by the horizon, ``months`` ahead, in one clause.

    ``of``: the denominator of the whole message, where it holds further figures; ``look``: whether
    to say as well what a look today would find or tell.
    """
    of = of or denominator([row], hazard)
    match form(row):
        case "found":
            return "already found, not a matter of chance"
        case "none":
            return "no figure"
        case "if_it_applies":
            known = if_it_applies(row, hazard, months, of)
            if most_likely_applies(row):
                return f"it most likely applies (to {applies_to(row, of)}); {known}"
            return f"not known whether it applies: it does to {applies_to(row, of)}; {known}"
        case "wide":
            tells = f"; {what_tells(hazard)}" if look else ""
            return f"how likely is not known ({why_wide(row, hazard)}){tells}"
        case _:
            many = _frequency(_overall(row), of, "like it")
            found = _look_clause(row, hazard, of) if look else ""
            return f"{many} within {words.period(months)}{found}"


def most_likely_applies(row: Row) -> bool:
    """Whether it is as good as known that it applies, though not to be left unsaid."""
    return bool(row["exposed_weight"] >= MOST_LIKELY)


def applies_to(row: Row, of: int) -> str:
    """ "about 31 of 100 described like it": how many have what the hazard needs."""
    return f"{words.about(row['exposed_weight'], of)} of {of:,} described like it"


def if_it_applies(row: Row, hazard: Hazard, months: int, of: int) -> str:
    """ "where it does, about 2 of 100 (0 to 11) within a year"; or that it is not known either."""
    given = _given(row)
    if _informs_nobody(given):
        return f"where it does, how likely is not known either; {what_tells(hazard)}"
    return f"where it does, {_frequency(given, of)} within {words.period(months)}"


def by_look(row: Row, hazard: Hazard, of: int) -> str:
    """ "about 17 of 100 (3 to 44)": on how many a look today would find it; "" without a figure."""
    told = by_look_of(row, hazard)
    return "" if told is None else _frequency(told, of)


def why_wide(row: Row, hazard: Hazard) -> str:
    """The unknowns that make a range wide, as far as the row holds them."""
    reasons = []
    if hazard.reveals == "by_looking":
        looked = row["x_last_good_look"]
        seen = f"last seen good on {looked}" if looked else "no look on file"
        reasons.append(seen)
    if row["x_unseen"] > 0.0:
        reasons.append("perhaps renewed before our record")
    if row["x_use_wide"] > 0.0:
        reasons.append("its use known only roughly")
    return ", ".join(reasons) or "such parts differ widely in how long they last"


def what_tells(hazard: Hazard) -> str:
    """What would settle it: "a look of 20 min tells"."""
    if hazard.look is None:
        return "ask first"
    return f"a look of {hazard.look.minutes.value:g} min tells"


def stated(row: Row) -> Chance | None:
    """The chance that stands in a sentence by itself; None where only a form of words is true."""
    told = {"plain": _overall, "if_it_applies": _given}.get(form(row))
    share = told(row) if told else None
    return None if share is None or _informs_nobody(share) else share


def denominator(rows: list[Row], hazard: Hazard) -> int:
    """The one denominator of all that ``chance`` says of these exposures of one hazard."""
    return words.denominator(figure for row in rows for figure in figures(row, hazard))


def figures(row: Row, hazard: Hazard) -> list[float]:
    """Every share that is told of one exposure."""
    told = form(row)
    if told == "if_it_applies":
        return [float(row["exposed_weight"]), *_figures(_given(row))]
    if told not in ("plain", "wide"):
        return []
    look = by_look_of(row, hazard)
    return [*_figures(_overall(row)), *(_figures(look) if look else ())]


def _look_clause(row: Row, hazard: Hazard, of: int) -> str:
    told = by_look_of(row, hazard)
    if told is None:
        return ""
    low, high = words.count_of(told.low, of), words.count_of(told.high, of)
    return f"; a look today would find it on {words.about(told.p, of)} ({low} to {high})"


def _overall(row: Row) -> Chance:
    return Chance(0, row["probability"], row["probability_low"], row["probability_high"])


def _given(row: Row) -> Chance:
    given = if_it_applies_of(row, 0)
    assert given is not None, "asked only where there is a figure"
    return given


def _informs_nobody(share: Chance) -> bool:
    return bool(share.high - share.low > WIDEST_RANGE)


def _figures(share: Chance) -> tuple[float, float, float]:
    return share.p, share.low, share.high


def _frequency(share: Chance, of: int, whom: str = "") -> str:
    return words.frequency(*_figures(share), of, whom)
