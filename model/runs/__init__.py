"""The longest clear straight lines in a solid."""
