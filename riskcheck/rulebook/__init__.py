"""Rule files to a checked rulebook."""

from riskcheck.rulebook.book import Rulebook, check, load, shipped_dir
from riskcheck.rulebook.card import Card, card
from riskcheck.rulebook.skeleton import skeleton, skeleton_cases
from riskcheck.yamlfile import Fault

__all__ = [
    "Card",
    "Fault",
    "Rulebook",
    "card",
    "check",
    "load",
    "shipped_dir",
    "skeleton",
    "skeleton_cases",
]
