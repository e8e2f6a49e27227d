"""Physics of whole circuits, whichever engine carries them."""
