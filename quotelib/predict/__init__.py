"""What will this build do: from builds to numbers, and from numbers to estimates with a range."""
