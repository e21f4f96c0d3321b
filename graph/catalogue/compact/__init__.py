"""A catalogue of any size in one file: opened in milliseconds, read where it lies, its things made when asked for.

`records` turns things into bytes and back, `store` lays out the file, `bulk` fills it from facts, chunk by chunk.
The reading asks it through `graph.lookups.compact`.
"""
