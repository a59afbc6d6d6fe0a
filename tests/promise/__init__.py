"""Does the quote say what is so."""
