"""The invented firm and its season."""
