"""Requirement and observations to findings, suspicion and disposition. Pure: no I/O, no image library."""
