"""Readings with uncertainty, conformity decisions, fits. Pure."""
