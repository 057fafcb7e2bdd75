"""How every workbook is drawn: styles, widths of text, the writer of a sheet, charts."""
