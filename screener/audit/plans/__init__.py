"""How many units of a lot to look at, which ones, and what that can tell. Pure; exact sums, no numpy.

single       code letter and single plan by ISO 2859-1 / MIL-STD-105E, arrows followed
accept_zero  plans that accept on none found, sized by the exact chance for this lot
chances      chance of acceptance: hypergeometric, binomial, Poisson
oc           operating characteristic, average outgoing quality, risks
switching    normal, tightened, reduced, stop: what the history of a supplier's lots asks for
draw         which units: seeded, spread over the boxes
planning     all of these for one lot, with the sentences that a clerk reads
"""
