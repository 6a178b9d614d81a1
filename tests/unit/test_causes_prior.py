"""The priors of the families: proper, documented, and the weight of a negative M."""

import numpy as np
import pytest

from labkit.analysis.causes.likelihood import AGAINST_DOTS, FAMILIES, prior_of


@pytest.mark.parametrize("family", FAMILIES)
def test_prior_is_proper(family: str) -> None:
    """Before the weight of the dots the density sums to one: its peak is that of a normal distribution."""
    prior = prior_of(family)
    rng = np.random.default_rng(2)
    covariance = np.linalg.inv(prior.precision)
    t = rng.multivariate_normal(prior.mean, covariance, 20_000)
    wide = 4 * covariance
    far = rng.multivariate_normal(prior.mean, wide, 200_000)
    off = far - prior.mean
    log_p = prior.log_peak - np.einsum("ki,ij,kj->k", off, prior.precision, off) / 2
    log_q = -1.5 * np.log(2 * np.pi) - np.linalg.slogdet(wide)[1] / 2
    log_q -= np.einsum("ki,ij,kj->k", off, np.linalg.inv(wide), off) / 2
    assert np.exp(log_p - log_q).mean() == pytest.approx(1.0, abs=0.02)
    assert (t[:, 1] - t[:, 0]).mean() == pytest.approx(FAMILIES[family][0], abs=0.1)


def test_every_inductance_is_possible() -> None:
    """From 100 nH to 1 H nothing is more than four spreads away."""
    spread = np.sqrt(np.linalg.inv(prior_of("same core").precision)[0, 0])
    assert abs(np.log(1e-7 / 10e-3)) < 4 * spread
    assert abs(np.log(1.0 / 10e-3)) < 4 * spread


def test_negative_M_contradicts_the_dots() -> None:
    """B above A counts a ten-thousandth on one core, and as much as any for separate parts."""
    aiding, opposing = np.array([0.0, -3.0, 0.0]), np.array([-3.0, 0.0, 0.0])
    core, apart = prior_of("same core"), prior_of("separate")
    assert core.log_dots(aiding) == pytest.approx(0.0, abs=1e-9)
    assert core.log_dots(opposing) == pytest.approx(np.log(AGAINST_DOTS))
    assert apart.log_dots(opposing) == 0.0
