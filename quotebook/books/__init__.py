"""What was earned, and whether it has paid for itself."""
