"""What was seen and decided, kept: the store (SQL), the photo archive, order import, export."""
