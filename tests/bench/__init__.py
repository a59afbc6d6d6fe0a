"""Does it cost what it should: rounding, totals, properties of sums."""
