"""While it is out: what a route lays open anyway, how likely each part of it is worn, and what to renew now."""

from graph.wear.items import NO_WISH, while_out
from graph.wear.kept import open_as_wished, planned_renewals, renewals_of_job
from graph.wear.model import LONGEST_WARRANTY, DeeperItem, RenewalWish, WearItem, WearState, WhileOut, read_wish

__all__ = [
    "LONGEST_WARRANTY", "NO_WISH", "DeeperItem", "RenewalWish", "WearItem", "WearState", "WhileOut",
    "open_as_wished", "planned_renewals", "read_wish", "renewals_of_job", "while_out",
]  # fmt: skip
