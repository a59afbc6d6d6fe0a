"""What will this build do."""
