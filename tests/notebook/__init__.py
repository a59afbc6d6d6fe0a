"""What the notebooks show: tables, charts, and lines where there is nothing to show."""
