"""A used gearbox before it is paid for: what to look at without opening it, and what it is worth after that."""

from graph.used_box.model import UsedBox, UsedBoxVerdict
from graph.used_box.weigh import weigh_used_box

__all__ = ["UsedBox", "UsedBoxVerdict", "weigh_used_box"]
