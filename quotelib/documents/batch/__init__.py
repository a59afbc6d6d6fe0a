"""What comes of a file of enquiries: documents of each, a summary, and how they are written."""
