"""Bodies made to break the service: `bodies` says what one is; `rdf` and `tables` make them, none is kept as a file."""
