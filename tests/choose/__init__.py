"""Is the right build chosen, and is it said why not another."""
