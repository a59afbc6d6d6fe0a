"""What goes in the box: level, layout, parts, places, and whether they fit together."""
