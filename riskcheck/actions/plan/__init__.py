"""Which job when: jobs from exposures, weeks by integer programming, visits into bay-days.

``make_plan(Asked(...)) -> Plan``.  Codes and figures only; the words are in ``reports``.
"""

from riskcheck.actions.plan.make import OUTCOME_COLUMNS, Asked, Plan, hours_by_week, make_plan
from riskcheck.actions.plan.problem import Costs, Pool, Problem
from riskcheck.actions.plan.returned import Odd, Returned, wishes_of
from riskcheck.actions.plan.solve import Effort, Solution, solve
from riskcheck.actions.plan.weeks import Weeks
from riskcheck.actions.plan.wishes import Planned, Wishes

__all__ = [
    "OUTCOME_COLUMNS",
    "Asked",
    "Costs",
    "Effort",
    "Odd",
    "Plan",
    "Planned",
    "Pool",
    "Problem",
    "Returned",
    "Solution",
    "Weeks",
    "Wishes",
    "hours_by_week",
    "make_plan",
    "solve",
    "wishes_of",
]
