"""Barcodes: decoding photos, interpreting what was read or scanned. Never decides."""
