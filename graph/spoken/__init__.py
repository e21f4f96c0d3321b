"""A question asked in a person's own words: what of it is understood, what is doubtful, what is not understood."""

from graph.spoken.model import InWords, SpokenChip, SpokenChoice, SpokenDoubt, SpokenWord
from graph.spoken.understand import understand

__all__ = ["InWords", "SpokenChip", "SpokenChoice", "SpokenDoubt", "SpokenWord", "understand"]
