"""Joint checks from dimensions: each a pure function from dimensions with tolerance to a CheckResult."""
