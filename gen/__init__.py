"""Inkdrift: how far a hand-drawn mark may stray before a classifier misreads it."""
