"""Files that ship with quotebook and that an owner copies."""
