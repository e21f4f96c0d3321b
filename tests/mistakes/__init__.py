"""The fifteen mistakes that the trade makes most, each committed in the facts and asked as a user asks."""
