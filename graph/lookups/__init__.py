"""Every look-up that a question makes in a catalogue, whatever form its facts are kept in: `CatalogueIndex`."""

from graph.lookups.index import CatalogueIndex

__all__ = ["CatalogueIndex"]
