"""What a sheet's own formulas come to: tokens, trees, the listed functions, and the cells that they read."""
