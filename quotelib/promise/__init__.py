"""What do we promise: the record of a quote, the one thing every document is rendered from."""
