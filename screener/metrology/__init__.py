"""Readings with uncertainty, conformity decisions, which sizes readings fit. Pure."""
