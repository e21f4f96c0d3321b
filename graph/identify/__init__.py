"""Which variant is this? From what can be seen, counted and measured, and what to measure next."""
