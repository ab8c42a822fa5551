"""Numbers: chance, loss, act-by, level and rank of every exposure."""

from riskcheck.risk.losses import together
from riskcheck.risk.policy_sheet import Applied, applied, six
from riskcheck.risk.price import COLUMNS, Priced, price
from riskcheck.risk.stability import Moved, moves, re_ranked

__all__ = [
    "COLUMNS",
    "Applied",
    "Moved",
    "Priced",
    "applied",
    "moves",
    "price",
    "re_ranked",
    "six",
    "together",
]
