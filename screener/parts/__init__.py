"""Designations, seal sizes, suffix meaning, interchange. Pure."""
