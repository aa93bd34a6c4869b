"""Probit analysis against the best known set of data there is for it.

C. I. Bliss, "The calculation of the dosage-mortality curve", Annals of Applied Biology 22, 1935, 134-167:
beetles after five hours in carbon disulphide. Data, and the fit as it stands in A. J. Dobson, "An
Introduction to Generalized Linear Models" (probit link: -34.94 and 19.73), from memory; that the data give
these coefficients to four figures says that neither is remembered wrongly.
"""

import numpy as np
import pytest

from trainer.learner.centre import fit

LOG_DOSE = (1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839)
BEETLES = (59, 60, 62, 56, 63, 59, 62, 60)
KILLED = (6, 13, 18, 28, 52, 53, 61, 60)


def test_beetles() -> None:
    doses, answers = list[float](), list[float]()
    for dose, count, killed in zip(LOG_DOSE, BEETLES, KILLED, strict=True):
        doses += [dose] * count
        answers += [1.0] * killed + [-1.0] * (count - killed)
    found = fit(np.array(doses), np.array(answers))
    assert found is not None
    assert found.half == 0.0
    assert 1 / found.noise == pytest.approx(19.73, abs=0.005)
    assert -found.middle / found.noise == pytest.approx(-34.94, abs=0.005)
    assert found.middle == pytest.approx(1.771, abs=0.0005)  # kills half of them
