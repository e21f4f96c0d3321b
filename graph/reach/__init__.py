"""One to many: what can go behind this engine, where can this gearbox go, which part opens most routes.

`bounds` says what a route costs at least, `reach` goes through the units cheapest first, `stocking` asks what a part on
the shelf would open.
"""

from graph.reach.reach import Reached, Reaching, explore, reach

__all__ = ["Reached", "Reaching", "explore", "reach"]
