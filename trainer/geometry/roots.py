"""Roots and turning points of many functions of one number at once, by means that can't run away."""

from collections.abc import Callable

import numpy as np

from trainer.geometry.vectors import Floats

Function = Callable[[Floats], Floats]

STEPS = 120  # never reached: it halves when nothing better does, and 64 halvings reach rounding
GOLDEN = (np.sqrt(5.0) - 1.0) / 2.0
SHRINKS = 45  # golden sections: a turning point to 4e-10 of its bracket, and its height to rounding


def root_between(function: Function, low: Floats, high: Floats) -> Floats:
    """Where each row of ``function`` passes 0 between ``low`` and ``high``, to rounding. Shape (n,).

    The function has opposite signs (or is 0) at the two ends. Inverse quadratic steps where they are
    safe, halving elsewhere: T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for
    finding the zero of a nonlinear function without using derivatives", Advances in Engineering
    Software 28 (1997) 145-149.
    """
    a, b = high.astype(float), low.astype(float)
    fa, fb = function(a), function(b)
    c, fc = a, fa
    step = np.full_like(a, 0.5)
    best, least = np.where(np.abs(fa) < np.abs(fb), a, b), np.minimum(np.abs(fa), np.abs(fb))
    for _ in range(STEPS):
        x = a + step * (b - a)
        fx = function(x)
        same = (fx > 0) == (fa > 0)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = x, fx
        better = np.abs(fx) < least
        best, least = np.where(better, x, best), np.where(better, np.abs(fx), least)
        width = np.abs(b - a)
        near = 4e-16 * np.abs(best) + 1e-17
        if bool(np.all((width <= 2 * near) | (least == 0))):
            break
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
            safe = (phi * phi < xi) & ((1 - phi) ** 2 < 1 - xi)
            quadratic = fa / (fb - fa) * fc / (fb - fc)
            quadratic = quadratic + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
            edge = np.minimum(near / width, 0.5)
        step = np.where(safe & np.isfinite(quadratic), quadratic, 0.5)
        step = np.clip(step, edge, 1 - edge)
        step = np.where(np.isfinite(step), step, 0.5)
    return best


def turning_point(function: Function, low: Floats, high: Floats, top: Floats) -> tuple[Floats, Floats]:
    """The highest (``top`` 1) or lowest (-1) place between ``low`` and ``high``, and the value there.

    By golden section, so corners are welcome. Shape (n,) each.
    """
    a, b = low.astype(float), high.astype(float)
    left, right = b - GOLDEN * (b - a), a + GOLDEN * (b - a)
    f_left, f_right = top * function(left), top * function(right)
    for _ in range(SHRINKS):
        keep = f_left > f_right  # the summit lies left of `right`
        a, b = np.where(keep, a, left), np.where(keep, right, b)
        probe = np.where(keep, b - GOLDEN * (b - a), a + GOLDEN * (b - a))
        f_probe = top * function(probe)
        left, right = np.where(keep, probe, right), np.where(keep, left, probe)
        f_left, f_right = np.where(keep, f_probe, f_right), np.where(keep, f_left, f_probe)
    at = np.where(f_left > f_right, left, right)
    return at, function(at)
