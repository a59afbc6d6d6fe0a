"""Is it read as it was meant: enquiries, and files of them."""
