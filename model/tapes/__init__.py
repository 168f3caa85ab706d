"""Tape readings held against each other: adjusted corners, what disagrees, and what no tape could have shown."""
