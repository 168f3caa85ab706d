"""From a survey to a closed solid and the answers taken from it."""
