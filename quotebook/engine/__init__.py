"""What is true of floors and money: plain functions over Decimals, with no input or output."""
