"""riskcheck: from a fleet workbook to a list of customers to call, each with its reason."""
