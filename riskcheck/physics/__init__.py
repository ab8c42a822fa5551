"""Physics of ground paths and conductors: pure functions, each with formula, source and range.

``ground.assess_strap`` and ``ground.interpret_reading`` are the two doors for a person's
question; ``FACT_FUNCTIONS`` offers the same physics to the rulebook's derived facts.
"""

from riskcheck.physics.derived import FACT_FUNCTIONS

__all__ = ["FACT_FUNCTIONS"]
