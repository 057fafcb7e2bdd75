"""Bills and credit notes: what they charge, their workbooks, their numbers, reminders and lists for the bookkeeper."""
