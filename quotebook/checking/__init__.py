"""A returned workbook held against its issue, and what is said of it."""
