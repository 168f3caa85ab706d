"""The second check of a certificate: short, numpy only, each formula written out afresh from what the file says."""
