"""What do sales staff touch: a page that answers while the customer is on the telephone."""
