"""What do we promise: the enquiry, the choice, and the record of the quote."""
