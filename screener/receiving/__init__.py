"""A delivery or a single part from photos and an order line to recorded results."""
