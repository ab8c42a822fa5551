"""Usage clocks: how far each vehicle is through its miles, hours, years, winters and starts."""

from riskcheck.usage.build import clocks
from riskcheck.usage.usage import Usage

__all__ = ["Usage", "clocks"]
