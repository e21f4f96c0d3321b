"""What the shop knows: parts, units, typed edges, kinds, tasks, faults, notes; and the views over them."""
