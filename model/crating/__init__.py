"""Crates: which stand in a space and go out through its lid, and one made to measure."""
