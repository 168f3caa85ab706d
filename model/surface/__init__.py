"""From the sections of a survey to the closed surface of its space, checked before it is made."""
