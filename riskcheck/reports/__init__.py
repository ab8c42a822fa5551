"""All wording and looks: terminal, workbook, page."""
