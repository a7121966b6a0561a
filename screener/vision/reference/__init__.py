"""A photo laid over the photo of a known-good package or marking, and what differs between the two.

The reference is straightened once into its *frame* (`panel`); a new photo is registered to that frame (`registering`),
brought to its light and blur (`light`), and compared element by element (`compare`). Nothing is concluded from a photo
that could not be laid over its reference or is too poor to tell.
"""
