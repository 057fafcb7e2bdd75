"""The owner's books: requests come in as rows, answers as files, decisions as cells, and one workbook shows it all."""
