"""Spreadsheet files as such: their bounds, both formats, cells, formula text, filled-in books, CSV text."""
