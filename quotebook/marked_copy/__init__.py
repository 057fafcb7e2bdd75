"""A returned workbook copied with every finding marked at its cell."""
