"""Bodies made to break the service, and the watch that is kept while they are sent.

`bodies` says what one is; `rdf`, `tables`, `texts` and `others` make them, all by program, none is kept as a file.
`python -m tests.hostile` lists them with their sizes.
"""
