"""Is a price list fit to sell from: what is odd, changed or useless, and open quotes."""
