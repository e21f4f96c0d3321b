"""Benches: what is measured, one module each. `command` runs them, `table` shows what came out, `clock` times."""
