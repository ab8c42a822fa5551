"""Numbers: chance, loss, act-by, level and rank of every exposure."""

from riskcheck.risk.price import COLUMNS, Priced, price

__all__ = ["COLUMNS", "Priced", "price"]
