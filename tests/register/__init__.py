"""Which quotes have we given."""
