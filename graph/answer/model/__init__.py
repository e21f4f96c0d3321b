"""What the reader of an answer sees: routes as ordered steps, or what keeps every route from being allowed.

Frozen objects without I/O, made by `graph.answer.build`, printed by `graph.answer.text`, turned into JSON by
`graph.answer.serial`. Pages and papers read these fields and nothing else.
Money and hours are whole hundredths, lengths whole micrometres, days and averages exact fractions (money in
currency units).
"""
