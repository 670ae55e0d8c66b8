"""Many questions at once: the store of answers, batches, merging and checking of stores."""

from synth.library.canonical import Canonical, Naming
from synth.library.entry import Entry, Query
from synth.library.store import Store

__all__ = ["Canonical", "Entry", "Naming", "Query", "Store"]
