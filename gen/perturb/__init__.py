"""The path of light: what may happen to a mark, station by station."""
