"""What do the notebooks show: tables, charts and a line where there is nothing to show."""
