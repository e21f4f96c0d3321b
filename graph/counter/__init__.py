"""The counter: the one place where a shop is asked, whoever asks: page, API, command, paper."""

from graph.counter.limits import Limits
from graph.counter.shop import Shop, Standing

__all__ = ["Limits", "Shop", "Standing"]
