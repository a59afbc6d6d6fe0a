"""What was asked: the columns of an enquiry, each described once, and the enquiry itself."""
