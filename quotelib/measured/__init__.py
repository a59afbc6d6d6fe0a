"""What was measured of what was quoted: jobs for the bench, what they gave, how it compares."""
