"""How do the controllers compare for an enquiry, and what does keeping a slot free cost?"""
