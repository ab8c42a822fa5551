"""Rule files to a checked rulebook."""
