"""What does it take to run: power and its cost, heat, wear of flash, mass to lift."""
