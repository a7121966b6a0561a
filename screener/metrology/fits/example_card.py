"""An example of a job card, to be printed and changed. It is read by the tests, so it always works."""

from __future__ import annotations

EXAMPLE = """\
# A job card: the parts in order along the shaft, from the left. What is not known is left out.
schema = "screener.job/1"
title = "Output shaft"
manual = ""                       # where the machine's manual treats this; it comes first
room_c = 20

[[part]]
name = "shaft seal"
kind = "shaft_seal"               # bearing, shaft_seal, retaining_ring, spacer, o_ring, other
designation = "25x52x7 NBR"
keep = "in"                       # keep the medium in, or dirt out
rpm = 1450

[part.shaft]
readings_mm = [[24.97, 24.98]]    # one list a cross section
instrument = "micrometer"

[part.housing]
readings_mm = [[52.02]]
instrument = "bore gauge"

[[part]]
name = "inner ring in the bore"
kind = "retaining_ring"
designation = "DIN 472 52x2"
gap_before_mm = 1

[[part]]
name = "bearing"
kind = "bearing"
designation = "6205-2RS C3"
turning = "inner"                 # ring that turns relative to the load: inner, outer, undefined, axial
load = "normal"                   # light, normal, heavy, shock; or load_share = P/C
inner_c = 60                      # running temperatures of the rings
outer_c = 52
photos = []                       # files beside this card; the part is verified by them

[part.shaft]
readings_mm = [[25.009, 25.011], [25.008, 25.009]]

[part.housing]
readings_mm = [[52.012, 52.014]]
material = "aluminium"
wall_mm = 70                      # outside of a thin housing; for a shaft: bore of a hollow one

[[part]]
name = "spacer"
kind = "spacer"
inner_mm = 25
outer_mm = 32
width_mm = 6

[[part]]
name = "shaft ring"
kind = "retaining_ring"
designation = "DIN 471 25x1.2"

[[companion]]
says = "Grease for the seal lip"
"""
