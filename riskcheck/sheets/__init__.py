"""Every table format, in and out: the only place that touches the spreadsheet libraries.

In:  ``read_grids(path)`` gives raw ``Grid`` objects, one a sheet.
Out: ``write_csv(path, frame)`` and ``write_workbook(path, Workbook(...))``, both atomic, inert
and byte-identical from run to run; ``replace_file(path, data)`` for any other bytes.
"""

from riskcheck.sheets.csv_out import write_csv
from riskcheck.sheets.description import Column, Sheet, Style, Workbook
from riskcheck.sheets.files import replace_file
from riskcheck.sheets.grid import Grid, column_letters, column_number
from riskcheck.sheets.inert import clean_text, inert, one_line
from riskcheck.sheets.preflight import Limits
from riskcheck.sheets.read import read_grids
from riskcheck.sheets.workbook_out import workbook_bytes, write_workbook

__all__ = [
    "Column",
    "Grid",
    "Limits",
    "Sheet",
    "Style",
    "Workbook",
    "clean_text",
    "column_letters",
    "column_number",
    "inert",
    "one_line",
    "read_grids",
    "replace_file",
    "workbook_bytes",
    "write_csv",
    "write_workbook",
]
