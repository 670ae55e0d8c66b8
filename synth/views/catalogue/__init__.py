"""A folder of pages about many gates: an index to search, a page a gate, and its layouts."""

from synth.views.catalogue.folder import check_folder, write_folder
from synth.views.catalogue.gates import Gate, Item, gates_of
from synth.views.catalogue.site import MARKER, Export, site_files
from synth.views.catalogue.stored import items_of

__all__ = [
    "MARKER",
    "Export",
    "Gate",
    "Item",
    "check_folder",
    "gates_of",
    "items_of",
    "site_files",
    "write_folder",
]
