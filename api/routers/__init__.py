"""One small file per resource; each holds a `router`."""
