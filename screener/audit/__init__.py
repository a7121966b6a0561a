"""Many items together: sampling plans, batches, lots, suppliers over time. Pure."""
