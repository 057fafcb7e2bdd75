"""Plays the whole job with an invented firm: four events in detail, or two years of quotes."""
