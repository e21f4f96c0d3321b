"""Schema migrations, run by `graph.ledger.database.migrate`."""
