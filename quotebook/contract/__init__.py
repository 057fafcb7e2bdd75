"""What both sides of a client's workbook agree on: names, values, formulas, words and the signed stamp."""
