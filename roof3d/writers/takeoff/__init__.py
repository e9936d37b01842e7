"""The take-off as files: a JSON document, rows for a spreadsheet, a workbook with live formulas."""
