"""From a scan of a compartment to a survey: placed by taped targets, cut at stations, walls fitted as lines."""
