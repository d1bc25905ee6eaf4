"""One file an edition, each complete in itself: it imports nothing that may change later."""
