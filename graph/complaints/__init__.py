"""From a complaint to the joint: what may be wrong, which test tells most for its time, and what to do about it.

The way in is `Enquiry` and `judge` (`graph/complaints/judge.py`); the tables are in `facts/kinds/complaint*.csv`.
"""
