"""Rule files to a checked rulebook."""

from riskcheck.rulebook.book import Rulebook, check, load, shipped_dir
from riskcheck.yamlfile import Fault

__all__ = ["Fault", "Rulebook", "check", "load", "shipped_dir"]
