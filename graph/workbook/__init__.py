"""The workshop as one spreadsheet, out and in: sheets in the trade's words, a row a thing, all taken in or nothing.

`plan` says which sheets and columns there are, from vocabulary and shapes; `values` is a value as a statement and as a
cell; `known` is what stands; `rows` turns it into rows and `xlsx` writes them; `arrive` reads a workbook that somebody
sends; `changes` compares it with what stands; `batches` writes all of it at once, and takes it back at once.
"""
