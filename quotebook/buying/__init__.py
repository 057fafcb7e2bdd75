"""Works out what to buy: two floors held against each other, and a season played through with more panels."""
