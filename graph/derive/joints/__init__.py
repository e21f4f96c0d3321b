"""Checks of joints between two parts, one record each (`record.py`), joint by joint; all of them in `registry.py`."""
