"""riskcheck: from a fleet workbook to a list of customers to call, each with its reason.

import datetime as dt
import riskcheck

result = riskcheck.assess("fleet.xlsx", as_of=dt.date(2026, 10, 1))
result.exposures        # one row per vehicle and hazard
result.outreach.calls   # whom to call, in order
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from riskcheck.assessment import Assessment, assess

__all__ = ["Assessment", "assess"]


def __getattr__(name: str) -> Any:
    """Import the heavy parts only when they are asked for."""
    if name in __all__:
        from riskcheck import assessment

        return getattr(assessment, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
