"""The pages that a fitter reads: server-rendered, no trade rules, useful without scripts.

Every page is one view object (a frozen dataclass of plain words and numbers) and one template that reads nothing else.
"""
