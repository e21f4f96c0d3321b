"""Processes that work for the service and can be stopped at any moment: what they used is free at once."""

from graph.workers.process import OutOfMemory, WorkerDied, WorkerProcess

__all__ = ["OutOfMemory", "WorkerDied", "WorkerProcess"]
