"""Does the right thing go in the box: levels, fit."""
