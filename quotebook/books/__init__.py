"""Counts what each kind of panel earned, and whether it has paid for itself, each in a workbook."""
