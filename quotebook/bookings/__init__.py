"""What an owner does with quotes: what is free, what is kept, what came back, what is agreed."""
