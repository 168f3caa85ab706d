"""Parametric solids that stand in a compartment, each one frozen dataclass in one place."""
