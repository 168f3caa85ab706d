"""How far a figure may be off because the tape may be: from the spread of the readings to a ± on every answer."""
