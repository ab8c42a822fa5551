"""From any fleet spreadsheet to tidy frames, with a record of what was done to every row."""

from riskcheck.fleet.export import to_contract_csvs
from riskcheck.fleet.model import Fleet
from riskcheck.fleet.reader import read_fleet

__all__ = ["Fleet", "read_fleet", "to_contract_csvs"]
