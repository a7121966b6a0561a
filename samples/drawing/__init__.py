"""Drawn photos of bearings, shaft seals and box labels: a small ray caster for the sample delivery.

Nothing here belongs to the product; the product never imports it. Lengths are millimetres, the bench is z = 0,
z points up to the camera, pixel centres have whole-number coordinates.
"""
