"""Which quotes have we given: every revision as it was, who gave it, and what became of it."""
