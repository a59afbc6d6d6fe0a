"""What does it cost: exact decimal lines and totals."""
