"""Works out what to buy and what to charge: two floors, a season with more panels, and a ladder of prices."""
