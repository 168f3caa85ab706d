"""Gear: what may be stowed, as a form with a size, a mass and a rule of how it may be turned."""
