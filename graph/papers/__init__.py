"""The papers that leave the tool: estimate, job sheet and build record, as HTML with print styles and as PDF.

A paper is first a `Paper`, sections of plain blocks; `html` and `pdf` print the same blocks, so both say the same.
"""
