"""The measuring sheet drawn for paper: black on white, large, with room for a cold hand."""
