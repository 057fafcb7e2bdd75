"""The jobs of a day, for those who do them."""
