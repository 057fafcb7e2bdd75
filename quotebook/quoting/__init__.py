"""Turns requests into what is sent to clients: advice, quotes, revisions and mail drafts."""
