"""The units of one batch against each other: what stands apart, what falls into groups, what occurs twice. Pure.

features     recorded result and photo readings -> `Unit` (numbers with uncertainty, words, serials, photos)
robust       median, MAD and Qn; robust distance of each unit
outliers     units that stand apart in one number, over all numbers at once (Benjamini-Hochberg)
clusters     groups of units that another process made: as many as chance would not give (`splitting`, `mixture`)
mixed        words that differ within the batch: batch codes, dates, closure, marks
duplicates   the same serial or photo twice; gaps in a run of serials
capability   Cp and Cpk with their interval, where the number of units and the instrument allow it
compare      all of these for each group of like units
"""
