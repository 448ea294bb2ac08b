"""Showrunner: setlist and show-state manager for a guitarist who plays whole shows through a laptop."""
