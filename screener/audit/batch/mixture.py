"""One process or several: how much better one more group describes the units, against what chance would give.

One process is a multivariate t distribution: like the normal, but with room for single odd units. Several processes are
a mixture of such distributions with the same scatter (Peel and McLachlan, "Robust mixture modelling using the t
distribution", Stat. Comput. 10, 2000). The likelihood ratio of k + 1 against k has no table here; its distribution for
k processes is made by parametric bootstrap (McLachlan, "On bootstrapping the likelihood ratio test statistic for the
number of components in a normal mixture", Appl. Statist. 36, 1987). Many samples are fitted at once: the first axis is
always the sample.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import lgamma, log, pi

import numpy as np

from screener.audit.batch.robust import Numbers

FREEDOMS = (4.0, 8.0, 15.0, 60.0)
"""Degrees of freedom tried: from many odd units to none."""
_ONE_STEPS = 20
_STEPS = 20
_LEAST_SHARE = 0.02
_RIDGE = 1e-6
_NEIGHBOURS = (0.08, 0.2)
_SEEDS = 3
_SURE = 0.96
"""How sure a first guess is of what belongs to a group."""


@dataclass(frozen=True, slots=True)
class Processes:
    """A fitted mixture of k groups for each of s samples of n units with d numbers."""

    log_likelihood: Numbers
    """(s,)"""
    belongs: Numbers
    """Probability of each unit for each group, (s, n, k)."""
    centres: Numbers
    """(s, k, d)"""
    scatter: Numbers
    """Common to all groups, (s, d, d)."""

    @property
    def groups(self) -> int:
        """How many there are."""
        return int(self.belongs.shape[2])


def usual_freedom(units: Numbers) -> float:
    """Return the degrees of freedom with which one process describes ``units`` (n, d) best."""
    return max(FREEDOMS, key=lambda freedom: float(one_process(units[None], freedom).log_likelihood[0]))


def one_process(samples: Numbers, freedom: float) -> Processes:
    """Fit one process to each sample (s, n, d)."""
    centre, scatter = _t_location(samples, freedom)
    density = _log_density(samples, centre[:, None, :], scatter, freedom)
    return Processes(density.sum(axis=(1, 2)), np.ones_like(density), centre[:, None, :], scatter)


def draw(fitted: Processes, freedom: float, samples: int, rng: np.random.Generator) -> tuple[Numbers, Numbers]:
    """Draw samples (samples, n, d) of the first fit; return them and each unit's group as ones, (samples, n, k)."""
    n, k = fitted.belongs.shape[1:]
    d = fitted.centres.shape[2]
    root = np.linalg.cholesky(fitted.scatter[0])
    normal = rng.standard_normal((samples, n, d)) @ root.T
    stretch = np.sqrt(freedom / rng.chisquare(freedom, (samples, n, 1)))
    shares = fitted.belongs[0].mean(axis=0)
    member = rng.choice(k, size=(samples, n), p=shares / shares.sum()) if k > 1 else np.zeros((samples, n), dtype=int)
    return np.asarray(fitted.centres[0][member] + normal * stretch), np.eye(k)[member]


def fit(samples: Numbers, belongs: Numbers, freedom: float) -> Processes:
    """Fit as many groups as a guess (s, n, k) has, starting from it."""
    return _fit(samples, (1 - _SURE) / belongs.shape[2] + _SURE * belongs, freedom)


def one_more(samples: Numbers, fewer: Processes, freedom: float) -> Processes:
    """Fit one group more than ``fewer`` has, from several starts; return the likeliest fit of each sample."""
    best: Processes | None = None
    for company in _starts(samples, fewer):
        belongs = np.concatenate([fewer.belongs * (1 - company[..., None]), company[..., None]], axis=2)
        found = _fit(samples, belongs, freedom)
        best = found if best is None else _better(best, found)
    if best is None:
        raise AssertionError("there is always a start")
    return best


def gain(samples: Numbers, fewer: Processes, freedom: float) -> tuple[Numbers, Processes]:
    """Return for each sample twice the log-likelihood gained by one more group, and the fit with it."""
    more = one_more(samples, fewer, freedom)
    return 2 * (more.log_likelihood - fewer.log_likelihood), more


def _better(one: Processes, other: Processes) -> Processes:
    take = other.log_likelihood > one.log_likelihood
    wide = take[:, None, None]
    return Processes(
        np.where(take, other.log_likelihood, one.log_likelihood),
        np.where(wide, other.belongs, one.belongs),
        np.where(wide, other.centres, one.centres),
        np.where(wide, other.scatter, one.scatter),
    )


def _t_location(samples: Numbers, freedom: float) -> tuple[Numbers, Numbers]:
    """Return centre (s, d) and scatter (s, d, d) of a t for each sample, by EM from the medians."""
    d = samples.shape[2]
    centre = np.median(samples, axis=1)
    scatter = _covariance(samples, centre, np.ones(samples.shape[:2]), samples.shape[1])
    for _ in range(_ONE_STEPS):
        weight = (freedom + d) / (freedom + _distance(samples, centre[:, None, :], scatter)[..., 0])
        centre = (weight[..., None] * samples).sum(axis=1) / weight.sum(axis=1)[:, None]
        scatter = _covariance(samples, centre, weight, samples.shape[1])
    return centre, scatter


def _covariance(samples: Numbers, centre: Numbers, weight: Numbers, count: int) -> Numbers:
    off = samples - centre[:, None, :]
    found = np.swapaxes(off * weight[..., None], 1, 2) @ off / count
    return np.asarray(_held_up(found))


def _held_up(scatter: Numbers) -> Numbers:
    """Keep a scatter invertible where units are tied."""
    d = scatter.shape[-1]
    size = np.trace(scatter, axis1=-2, axis2=-1)[..., None, None] / d
    return np.asarray(scatter + (_RIDGE * size + 1e-12) * np.eye(d))


def _distance(samples: Numbers, centres: Numbers, scatter: Numbers) -> Numbers:
    """Return squared Mahalanobis distances (s, n, k) to each of the centres (s, k, d)."""
    root = np.linalg.cholesky(np.linalg.inv(scatter))
    white = samples @ root
    middles = centres @ root
    columns = [((white - middles[:, None, k, :]) ** 2).sum(axis=2) for k in range(centres.shape[1])]
    return np.stack(columns, axis=2)


def _log_density(samples: Numbers, centres: Numbers, scatter: Numbers, freedom: float) -> Numbers:
    return _density_at(_distance(samples, centres, scatter), samples.shape[2], scatter, freedom)


def _density_at(distance: Numbers, d: int, scatter: Numbers, freedom: float) -> Numbers:
    constant = lgamma((freedom + d) / 2) - lgamma(freedom / 2) - d / 2 * log(freedom * pi)
    log_size = np.linalg.slogdet(scatter)[1] / 2
    return np.asarray(constant - log_size[:, None, None] - np.log1p(distance / freedom) * (freedom + d) / 2)


def _starts(samples: Numbers, fewer: Processes) -> list[Numbers]:
    """Return first guesses of one more group (s, n): close companies far from every centre, and a split in half."""
    root = np.linalg.cholesky(np.linalg.inv(fewer.scatter))
    middle = fewer.centres[:, :1, :]
    white, centres = (samples - middle) @ root, (fewer.centres - middle) @ root
    starts = []
    for share in _NEIGHBOURS:
        starts.extend(_far_companies(white, centres, max(3, round(share * samples.shape[1]))))
    if fewer.groups == 1:
        starts.append((white[..., 0] > np.median(white[..., 0], axis=1)[:, None]).astype(float))
    return [(1 - _SURE) / 2 + _SURE * start for start in starts]


def _far_companies(white: Numbers, centres: Numbers, size: int) -> list[Numbers]:
    """Return the ``_SEEDS`` groups of ``size`` nearest neighbours whose mean is furthest out for their width.

    Out is off the nearest centre.
    """
    count, n, d = white.shape
    square = (white**2).sum(axis=2)
    apart = square[:, :, None] + square[:, None, :] - 2 * white @ np.swapaxes(white, 1, 2)
    nearest = np.argpartition(apart, size - 1, axis=2)[:, :, :size]
    member = np.zeros((count, n, n))
    np.put_along_axis(member, nearest, 1.0, axis=2)
    means = member @ white / size
    width = (member @ square[..., None])[..., 0] / size - (means**2).sum(axis=2)
    off = ((means[:, :, None, :] - centres[:, None, :, :]) ** 2).sum(axis=3).min(axis=2)
    score = off / (width + 0.25 * d)
    groups = []
    for _ in range(_SEEDS):
        seed = np.argmax(score, axis=1)
        chosen = np.take_along_axis(member, seed[:, None, None], axis=1)[:, 0, :]
        groups.append(chosen)
        # The next seed starts elsewhere.
        score = np.where(chosen > 0, -np.inf, score)
    return groups


def _fit(samples: Numbers, both: Numbers, freedom: float) -> Processes:
    n, d = samples.shape[1:]
    k = both.shape[2]
    weighed = both
    scatter = np.broadcast_to(np.eye(d), (samples.shape[0], d, d))
    log_likelihood = np.full(samples.shape[0], -np.inf)
    centres = np.zeros((samples.shape[0], k, d))
    for _ in range(_STEPS):
        share = np.clip(both.mean(axis=1), _LEAST_SHARE, 1)
        share = share / share.sum(axis=1, keepdims=True)
        centres = np.swapaxes(weighed, 1, 2) @ samples / (weighed.sum(axis=1)[..., None] + 1e-12)
        parts = [_covariance(samples, centres[:, at, :], weighed[..., at], n) for at in range(k)]
        scatter = _held_up(np.sum(parts, axis=0))
        distance = _distance(samples, centres, scatter)
        density = _density_at(distance, d, scatter, freedom) + np.log(share)[:, None, :]
        top = density.max(axis=2, keepdims=True)
        total = top[..., 0] + np.log(np.exp(density - top).sum(axis=2))
        both = np.exp(density - total[..., None])
        weighed = both * (freedom + d) / (freedom + distance)
        log_likelihood = total.sum(axis=1)
    return Processes(log_likelihood, both, centres, scatter)
