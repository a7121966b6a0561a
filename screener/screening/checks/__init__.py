"""The checks: one small pure function each, from an item and its surroundings to findings.

A check never raises for what an item contains, never reads a file, and never weighs: it states what disagrees with
what. To add one, write ``check(item, surroundings) -> Checked`` in a file of its own, list it in `ALL_CHECKS`, and give
each finding code it can raise a row in reference_specs/findings.toml.
"""
