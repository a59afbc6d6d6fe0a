"""What does the bench need: pick list, steps with their cautions, settings, acceptance."""
