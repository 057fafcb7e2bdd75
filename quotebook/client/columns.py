"""The columns of the first sheet: of its head, of the floor lines, of the entries and the price beside them."""

WIDTHS = (1.5, 4, 18, 10, 10, 10, 3, 4, 31, 8, 14.2, 10, 10, 1.5)
"""In digits of the default font, from the first column on. With the small plan beside them they are narrower than a
screen of 1366 pixels."""

PLAN = len(WIDTHS)
"""The first of the narrow columns of the small plan, to the right of all others."""

FIRST, LAST = 1, 12
ENTRY, ENTRY_LAST = 3, 6
"""The columns of the entries, after their labels."""
RIGHT = 8
"""The column of the right half's labels, beside the entries."""
SHARE, AMOUNT = 10, 11
"""The columns of a share and of an amount of money in the right half."""

PANEL, WIDTH, LENGTH, EDGING, SWATCH, SAID, FIGURES = 2, 3, 4, 5, 6, 7, 9
"""The columns of a floor line: its entries, the colour of its finish, what it is, and its figures."""
SAID_LAST = 8

OPTION = SAID
"""The column of a floor line's option, where a quote offers options: what the floor is stands to the right of it."""
