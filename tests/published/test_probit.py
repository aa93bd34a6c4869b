"""Probit analysis against published sets of data: two categories, and three.

C. I. Bliss, "The calculation of the dosage-mortality curve", Annals of Applied Biology 22, 1935, 134-167:
beetles after five hours in carbon disulphide. Data, and the fit as it stands in A. J. Dobson, "An
Introduction to Generalized Linear Models" (probit link: -34.94 and 19.73), from memory; that the data give
these coefficients to four figures says that neither is remembered wrongly.

UCLA Statistical Consulting, "Ordinal logistic regression": how likely 400 students say they are to apply
("unlikely", "somewhat likely", "very likely") by their parents, their school and their grades,
https://stats.idre.ucla.edu/r/dae/ordinal-logistic-regression/ . The data, and what ``polr`` of R's library
MASS (W. N. Venables, B. D. Ripley, "Modern Applied Statistics with S") makes of them by probit, as
statsmodels brings both with its tests (``results_ordinal_model.py``).
"""

from pathlib import Path

import numpy as np
import pytest
import statsmodels.miscmodels

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


STUDENTS = Path(statsmodels.miscmodels.__file__).parent / "tests" / "results" / "ologit_ucla.csv"
ANSWERS = {"unlikely": -1.0, "somewhat likely": 0.0, "very likely": 1.0}
POLR = np.array([0.59811, 0.01016, 0.35815])  # parents, school, grades
CRITERIA = 1.2968, 2.5028


def test_students() -> None:
    """Along the published combination of the three, both published criteria and a slope of one."""
    rows = [line.split(",") for line in STUDENTS.read_text().splitlines()[1:]]
    assert len(rows) == 400
    answers = np.array([ANSWERS[row[0]] for row in rows])
    found = fit(np.array([[float(x) for x in row[1:]] for row in rows]) @ POLR, answers)
    assert found is not None
    assert found.noise == pytest.approx(1.0, abs=5e-4)
    assert found.middle - found.half == pytest.approx(CRITERIA[0], abs=5e-4)
    assert found.middle + found.half == pytest.approx(CRITERIA[1], abs=5e-4)
