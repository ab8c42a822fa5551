"""Rule files to a checked rulebook."""

from riskcheck.rulebook.book import Rulebook, check, load, shipped_dir, starting_texts
from riskcheck.rulebook.card import Card, card
from riskcheck.rulebook.compare import Change, diff
from riskcheck.rulebook.folder import own_platforms
from riskcheck.rulebook.notes import notes
from riskcheck.rulebook.skeleton import skeleton, skeleton_cases
from riskcheck.rulebook.worksheet import (
    Answers,
    feature_stakes,
    joined,
    platform_groups,
    platforms_text,
    read_groups,
)
from riskcheck.yamlfile import Fault

__all__ = [
    "Answers",
    "Card",
    "Change",
    "Fault",
    "Rulebook",
    "card",
    "check",
    "diff",
    "feature_stakes",
    "joined",
    "load",
    "notes",
    "own_platforms",
    "platform_groups",
    "platforms_text",
    "read_groups",
    "shipped_dir",
    "skeleton",
    "skeleton_cases",
    "starting_texts",
]
