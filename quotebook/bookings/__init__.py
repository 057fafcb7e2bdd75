"""Books quotes at a desk: tells what is free, keeps the files, and records what came back and what is agreed."""
