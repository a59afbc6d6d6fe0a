"""Is the product right: second opinions, whose arithmetic is not that of what they check."""
