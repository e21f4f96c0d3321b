"""Jobs: a chosen route becomes a plan; what was done is noted as it happens; closing the job teaches the shop.

A job is nothing but its notes (`graph.costing.notes`), which are appended and taken back, never changed.
"""
