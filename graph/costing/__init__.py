"""What it will really cost: odds of worn parts, prices, stock, hours, the spread, and what jobs teach.

Pure functions over frozen objects. `store` alone touches a database, `price_import` and `price_export`
read and write bytes that are handed to them.
"""
