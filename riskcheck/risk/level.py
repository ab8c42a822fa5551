"""Risk level of an exposure: a display code adapted from MIL-STD-882E, Table III.

Probability bands are those of its (non-mandatory) Appendix A, Table A-II, here per vehicle and 12
months; the money limbs of its severities are replaced by a shop's own, so no code is "per" it.
Level F (eliminated) belongs to hazards that were removed; no computed chance earns it.

Severity and probability must speak of the same mishap.  The money letter is that of the hazard's
event as printed (``probability_12m``), so its severity is what that event costs this vehicle on
average (``cost_if_fails`` as printed, by the policy's ``money_bands``), not what its rarest outcome
would.  For a hidden hazard the event is the fault being there; its turning costly is rarer, so the
money level stands on the high side.  The level is a display: who is called for money is decided by
``ranking``, where the price of the job counts too.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from riskcheck.risk.beliefs import Floats

Texts = NDArray[np.str_]

SEVERITIES = ("I", "II", "III", "IV")
LETTERS = "ABCDEF"
LETTER_FROM = (1e-1, 1e-2, 1e-3, 1e-6)  # lowest chance that still earns A, B, C, D
LEVELS = ("Low", "Medium", "Serious", "High")  # least first
ELIMINATED = "Eliminated"
# Table III, rows I to IV, columns A to E.
MATRIX: dict[str, tuple[str, ...]] = {
    "I": ("High", "High", "High", "Serious", "Medium"),
    "II": ("High", "High", "Serious", "Medium", "Medium"),
    "III": ("Serious", "Serious", "Medium", "Medium", "Medium"),
    "IV": ("Medium", "Medium", "Low", "Low", "Low"),
}
PRINTED_DECIMALS, HARM_DECIMALS, MONEY_DECIMALS = 8, 12, 2


def letters(chance_12m: Floats, decimals: int = PRINTED_DECIMALS) -> Texts:
    """Letter A to E per chance (n,) over 12 months, as printed (lower edge incl.).

    ``decimals``: with how many the chance is printed; P_harm has ``HARM_DECIMALS``.
    """
    printed = np.round(chance_12m, decimals)
    step = np.zeros(printed.shape, dtype=np.int64)
    for edge in LETTER_FROM:
        step += printed < edge
    return np.array(list(LETTERS[:5]))[step]


def level(severity: str, letter: str) -> str:
    """Cell of the matrix: High, Serious, Medium, Low; Eliminated for letter F.

    Raises KeyError for an unknown severity, ValueError for an unknown letter.
    """
    row = MATRIX[severity]
    return ELIMINATED if letter == "F" else row[LETTERS[:5].index(letter)]


def code(severity: str, letter: str) -> str:
    """Risk assessment code: severity digit and probability letter, such as 2C."""
    return f"{SEVERITIES.index(severity) + 1}{letter}"


def money_severities(cost_if_fails: Floats, bands: Sequence[float], worst: str) -> Texts:
    """Severity I to IV per loss (n,) in USD, as printed.

    ``bands``: the least loss that counts as III, II and I, ascending (lower edge incl.).
    ``worst``: the worst credible severity that the hazard states; no vehicle's is worse.
    """
    printed = np.round(np.nan_to_num(cost_if_fails), MONEY_DECIMALS)
    place = 3 - np.searchsorted(np.asarray(bands, dtype=np.float64), printed, side="right")
    return np.array(SEVERITIES)[np.maximum(place, SEVERITIES.index(worst))]


def levels(severity: str | Texts, letter: Texts) -> Texts:
    """Level per letter (n,) for one severity, or for one each (n,)."""
    table = np.array([[level(one, x) for x in LETTERS] for one in SEVERITIES])
    return table[_place(severity), _index(letter)]


def codes(severity: str | Texts, letter: Texts) -> Texts:
    """Code per letter (n,) for one severity, or for one each (n,)."""
    table = np.array([[code(one, x) for x in LETTERS] for one in SEVERITIES])
    return table[_place(severity), _index(letter)]


def people_lead(people: Texts, money: Texts) -> NDArray[np.bool_]:
    """True where the people level ranks at least as high as the money level (n,)."""
    order = {name: place for place, name in enumerate(LEVELS)}
    order[ELIMINATED] = -1
    rank = np.vectorize(order.__getitem__, otypes=[np.int64])
    return np.asarray(rank(people) >= rank(money)) if len(people) else np.zeros(0, dtype=bool)


def _place(severity: str | Texts) -> NDArray[np.int64]:
    return np.searchsorted(np.array(SEVERITIES), severity).astype(np.int64)


def _index(letter: Texts) -> NDArray[np.int64]:
    return np.searchsorted(np.array(list(LETTERS)), letter).astype(np.int64)
