"""For all tests: generated examples are the same at every run (no randomness without a seed)."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("same_every_time", derandomize=True)
settings.load_profile("same_every_time")
