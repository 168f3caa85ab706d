"""From what was written on a sheet to a survey in metres: one module a step, paper first."""
