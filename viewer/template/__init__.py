"""Templates at true scale: on paper, and as files that a saw or a cutter follows."""
