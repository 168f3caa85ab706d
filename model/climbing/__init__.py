"""Steps from a sole to the lid over it: equal rises, treads cut to the side, head room, what stands there used."""
