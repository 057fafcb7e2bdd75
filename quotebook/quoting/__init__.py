"""From what is asked to what goes out: requests, advice, quotes, revisions, mail."""
