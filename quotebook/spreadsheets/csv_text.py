"""Text that a spreadsheet would run, made into text again.

A program that opens a CSV file takes a cell for a formula by how it starts (OWASP, "CSV
Injection"): `=`, `+`, `-`, `@`, a tab, a carriage return or a line feed, and the full-width forms of
the four signs, which some programs fold into plain ones. An apostrophe in front keeps it text.
Cells of our own workbooks need none of this: they are written as text whatever they start with.
"""

RUN = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def safe_text(text: str) -> str:
    """`text` as a CSV cell that no spreadsheet runs.

    Whitespace in front is looked through, since some programs strip them.
    """
    return f"'{text}" if text.startswith(RUN) or text.lstrip().startswith(RUN) else text
