"""What statements say of the ledger's layout: its version, and tables by their names. `tables` has the tables."""

VERSION = 3
"""Version of this layout. It goes up by one when a table changes, with a step in `migrations`."""

KEPT = ("quotes", "lines", "history")
"""What was recorded, which stays as written."""
DERIVED = ("agreements", "holds", "losses", "listed", "payments", "bills")
"""What follows from those, and can be made again at any time."""
IN_ORDER = "clock, desk, sequence"
"""The columns that order the events of all desks."""
