"""The quote workbook that a client edits, a module a sheet."""
