"""How many things go in a space: at least, by an arrangement that is verified; at most, by proof."""
