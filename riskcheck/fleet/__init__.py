"""From any fleet spreadsheet to tidy frames, with a record of what was done to every row."""

from riskcheck.fleet.blank import write_blank_workbook
from riskcheck.fleet.doubts import believed
from riskcheck.fleet.export import to_contract_csvs
from riskcheck.fleet.mapping import parse_mapping, unsure_headings, write_mapping
from riskcheck.fleet.model import Fleet
from riskcheck.fleet.part import of_vehicles
from riskcheck.fleet.reader import fleet_of, read_fleet

__all__ = [
    "Fleet",
    "believed",
    "fleet_of",
    "of_vehicles",
    "parse_mapping",
    "read_fleet",
    "to_contract_csvs",
    "unsure_headings",
    "write_blank_workbook",
    "write_mapping",
]
