"""Do we promise the right thing: enquiry, search."""
