"""One process or two: how much better two groups describe the units than one does, against what chance would give.

One process is a multivariate t distribution: like the normal, but with room for single odd units. Two processes are a
mixture of two of them with the same scatter (Peel and McLachlan, "Robust mixture modelling using the t distribution",
Stat. Comput. 10, 2000). The likelihood ratio of the two has no table here; its distribution for one process is made by
parametric bootstrap (McLachlan, "On bootstrapping the likelihood ratio test statistic for the number of components in a
normal mixture", Appl. Statist. 36, 1987). Many samples are fitted at once: the first axis is always the sample.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import lgamma, log, pi

import numpy as np

from screener.audit.batch.robust import Numbers

FREEDOMS = (4.0, 8.0, 15.0, 60.0)
"""Degrees of freedom tried: from many odd units to none."""
_ONE_STEPS = 20
_TWO_STEPS = 20
_LEAST_SHARE = 0.02
_RIDGE = 1e-6
_NEIGHBOURS = (0.08, 0.2)
_SEEDS = 3


@dataclass(frozen=True, slots=True)
class OneProcess:
    """A fitted multivariate t."""

    centre: Numbers
    scatter: Numbers
    freedom: float
    log_likelihood: float


@dataclass(frozen=True, slots=True)
class TwoProcesses:
    """A fitted mixture; ``belongs`` is each unit's probability of the second group."""

    log_likelihood: Numbers
    belongs: Numbers
    centres: Numbers
    scatter: Numbers


def fit_one(units: Numbers) -> OneProcess:
    """Fit one process to ``units`` (n, d), with the degrees of freedom that describe them best."""
    fits = []
    for freedom in FREEDOMS:
        centre, scatter = _t_location(units[None], freedom)
        density = _log_density(units[None], centre[:, None, :], scatter, freedom)
        fits.append(OneProcess(centre[0], scatter[0], freedom, float(density.sum())))
    return max(fits, key=lambda fit: fit.log_likelihood)


def draw(one: OneProcess, samples: int, n: int, rng: np.random.Generator) -> Numbers:
    """Draw samples (samples, n, d) of one process."""
    d = len(one.centre)
    root = np.linalg.cholesky(one.scatter)
    normal = rng.standard_normal((samples, n, d)) @ root.T
    stretch = np.sqrt(one.freedom / rng.chisquare(one.freedom, (samples, n, 1)))
    return np.asarray(one.centre + normal * stretch)


def gain(samples: Numbers, freedom: float) -> tuple[Numbers, TwoProcesses]:
    """Return for each sample twice the log-likelihood gained by a second group, and the fit with it."""
    centre, scatter = _t_location(samples, freedom)
    single = _log_density(samples, centre[:, None, :], scatter, freedom).sum(axis=(1, 2))
    best: TwoProcesses | None = None
    for belongs in _starts(samples, centre, scatter):
        fit = _fit_two(samples, belongs, freedom)
        best = fit if best is None else _better(best, fit)
    if best is None:
        raise AssertionError("there is always a start")
    return 2 * (best.log_likelihood - single), best


def _better(one: TwoProcesses, other: TwoProcesses) -> TwoProcesses:
    take = other.log_likelihood > one.log_likelihood
    return TwoProcesses(
        np.where(take, other.log_likelihood, one.log_likelihood),
        np.where(take[:, None], other.belongs, one.belongs),
        np.where(take[:, None, None], other.centres, one.centres),
        np.where(take[:, None, None], other.scatter, one.scatter),
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


def _starts(samples: Numbers, centre: Numbers, scatter: Numbers) -> list[Numbers]:
    """Return first guesses of the second group (s, n): close companies far from the centre, and the widest split."""
    inverse = np.linalg.inv(scatter)
    root = np.linalg.cholesky(inverse)
    white = (samples - centre[:, None, :]) @ root
    starts = []
    for share in _NEIGHBOURS:
        starts.extend(_far_companies(white, max(3, round(share * samples.shape[1]))))
    starts.append((white[..., 0] > np.median(white[..., 0], axis=1)[:, None]).astype(float))
    return [0.02 + 0.96 * start for start in starts]


def _far_companies(white: Numbers, size: int) -> list[Numbers]:
    """Return the ``_SEEDS`` groups of ``size`` nearest neighbours whose mean lies furthest out for their width."""
    count, n, d = white.shape
    square = (white**2).sum(axis=2)
    apart = square[:, :, None] + square[:, None, :] - 2 * white @ np.swapaxes(white, 1, 2)
    nearest = np.argpartition(apart, size - 1, axis=2)[:, :, :size]
    member = np.zeros((count, n, n))
    np.put_along_axis(member, nearest, 1.0, axis=2)
    means = member @ white / size
    width = (member @ square[..., None])[..., 0] / size - (means**2).sum(axis=2)
    score = (means**2).sum(axis=2) / (width + 0.25 * d)
    groups = []
    for _ in range(_SEEDS):
        seed = np.argmax(score, axis=1)
        chosen = np.take_along_axis(member, seed[:, None, None], axis=1)[:, 0, :]
        groups.append(chosen)
        # The next seed starts elsewhere.
        score = np.where(chosen > 0, -np.inf, score)
    return groups


def _fit_two(samples: Numbers, belongs: Numbers, freedom: float) -> TwoProcesses:
    n, d = samples.shape[1:]
    both = np.stack([1 - belongs, belongs], axis=2)
    weighed = both
    scatter = np.broadcast_to(np.eye(d), (samples.shape[0], d, d))
    log_likelihood = np.full(samples.shape[0], -np.inf)
    centres = np.zeros((samples.shape[0], 2, d))
    for _ in range(_TWO_STEPS):
        share = np.clip(both.mean(axis=1), _LEAST_SHARE, 1)
        share = share / share.sum(axis=1, keepdims=True)
        centres = np.swapaxes(weighed, 1, 2) @ samples / (weighed.sum(axis=1)[..., None] + 1e-12)
        parts = [_covariance(samples, centres[:, k, :], weighed[..., k], n) for k in range(2)]
        scatter = _held_up(parts[0] + parts[1])
        distance = _distance(samples, centres, scatter)
        density = _density_at(distance, d, scatter, freedom) + np.log(share)[:, None, :]
        top = density.max(axis=2, keepdims=True)
        total = top[..., 0] + np.log(np.exp(density - top).sum(axis=2))
        both = np.exp(density - total[..., None])
        weighed = both * (freedom + d) / (freedom + distance)
        log_likelihood = total.sum(axis=1)
    return TwoProcesses(log_likelihood, both[..., 1], centres, scatter)
