"""The "About this plan" sheet: what it costs, against what, what binds, what was assumed."""

from __future__ import annotations

from riskcheck.actions.plan import Plan
from riskcheck.figures import Figure
from riskcheck.reports import plan_words, words
from riskcheck.sheets import Column, Sheet


def sheet(plan: Plan) -> Sheet:
    """The sheet for the workbook."""
    return Sheet(
        "About this plan",
        [Column("What", 36, wrap=True), Column("Value", 110, wrap=True)],
        [list(row) for row in facts(plan)],
        title=("About this plan",),
        filters=False,
    )


def facts(plan: Plan) -> list[tuple[str, str]]:
    """(what, value) rows."""
    cost = plan.cost
    rows = [
        ("As of", plan.asked.as_of.isoformat()),
        ("Weeks", f"{plan.shop.weeks.count} from {plan.shop.weeks.start}"),
        ("Cost of this plan", words.money(cost.total)),
        ("  of it waiting until done", words.money(cost.waiting)),
        ("  left undone until the next plan", words.money(cost.undone)),
        ("  vehicles off the road, in and out", words.money(cost.visits)),
        ("  opening up more than once", words.money(cost.opening)),
        ("  overtime", words.money(cost.overtime)),
        ("No plan under these limits costs less than", words.money(plan.solution.bound)),
        ("Gap", f"{plan.gap:.2%}. {plan_words.STOPPED_WORDS[plan.solution.stopped]}".strip()),
        ("First come, first served would cost", words.money(plan.first_come.total)),
        ("Highest risk first would cost", words.money(plan.highest_risk.total)),
    ]
    rows += [
        ("Assumed, as no sheet says so", plan_words.ASSUMED_WORDS[code])
        for code in plan.shop.assumed
    ]
    rows += [("One more would save", text) for text in plan_words.worth_lines(plan)]
    rows += [("Same job on several vehicles", text) for text in plan_words.batch_lines(plan)]
    rows += [("First few looks", text) for text in plan_words.trial_lines(plan)]
    rows += [(f"Policy: {name}", figure.words()) for name, figure in _policy(plan)]
    rows += [("Caution", caution) for caution in words.CAUTIONS]
    return rows


def _policy(plan: Plan) -> list[tuple[str, Figure]]:
    policy = plan.asked.book.policy.plan
    named = [(name.replace("_", " "), getattr(policy, name)) for name in type(policy).model_fields]
    flat = [(name, figure) for name, figure in named if isinstance(figure, Figure)]
    shares = [(f"opening share, {n}", figure) for n, figure in policy.opening_share.items()]
    return flat + shares
