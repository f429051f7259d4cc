"""Tails of distributions against scipy.special (Cephes and Boost), and against a printed table."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import special

from templategen.repair.survey.chances import beta_share, chi_square_tail, fisher_tail, student_over

DOF = st.integers(1, 200)


@given(x=st.floats(0, 1), a=st.floats(0.5, 100), b=st.floats(0.5, 100))
def test_incomplete_beta(x: float, a: float, b: float) -> None:
    assert beta_share(x, a, b) == pytest.approx(special.betainc(a, b, x), rel=1e-10, abs=1e-14)


@given(f=st.floats(0, 1e4), above=DOF, below=DOF)
def test_fisher(f: float, above: int, below: int) -> None:
    assert fisher_tail(f, above, below) == pytest.approx(special.fdtrc(above, below, f), rel=1e-10, abs=1e-14)


@given(value=st.floats(0, 500), dof=DOF)
def test_chi_square(value: float, dof: int) -> None:
    assert chi_square_tail(value, dof) == pytest.approx(special.chdtrc(dof, value), rel=1e-10, abs=1e-14)


@given(tail=st.floats(1e-6, 0.4), dof=DOF)
def test_student(tail: float, dof: int) -> None:
    assert student_over(tail, dof) == pytest.approx(-special.stdtrit(dof, tail), rel=1e-10)


@pytest.mark.parametrize(
    ("dof", "t"), [(1, 12.706), (2, 4.303), (5, 2.571), (10, 2.228), (20, 2.086), (30, 2.042), (100, 1.984)]
)
def test_student_as_printed(dof: int, t: float) -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, column 0.975."""
    assert student_over(0.025, dof) == pytest.approx(t, abs=5e-4)


@pytest.mark.parametrize(("dof", "value"), [(1, 3.841), (2, 5.991), (5, 11.070), (10, 18.307), (30, 43.773)])
def test_chi_square_as_printed(dof: int, value: float) -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, column 0.95."""
    assert chi_square_tail(value + 5e-4, dof) < 0.05 < chi_square_tail(value - 5e-4, dof)
