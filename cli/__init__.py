"""The command line: reads, asks once, prints."""
