"""Does the whole thing work, run as its users run it."""
