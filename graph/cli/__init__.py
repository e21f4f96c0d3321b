"""The command line. Nothing is imported before the command that needs it, so that `solve` starts quickly."""
