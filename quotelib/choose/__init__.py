"""Which build is it, and why not the others: every build judged by one enumeration."""
