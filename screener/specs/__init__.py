"""Typed access to the tables in reference_specs/. Reads package data only."""
