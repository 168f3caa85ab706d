"""Parts cut to a space at a plane: boards and grates, their gaps, pieces and bevels."""
