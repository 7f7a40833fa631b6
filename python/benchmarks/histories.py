"""Methods for the thermal history, each implemented from its publication.

Each returns the entering fluid temperatures of a case. `compiled` is numba's compiler, or the identity for
plain Python and NumPy.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from case import UNDISTURBED, Array, Case, heat_pump

Compiler = Callable[[Any], Any]
Method = Callable[[Case], Array]

CELLS_A_LEVEL = 5
BLOCK = 512
"""Hours that exact online convolution sums directly."""


def plain_superposition(compiled: Compiler) -> Method:
    """Sum over all earlier changes of heat in each hour (Duhamel's theorem; Carslaw & Jaeger 1959)."""
    solve = heat_pump(compiled)

    def step(case: Case) -> Array:
        count, response = len(case.heating), case.response
        resistance = response[0] + case.to_entering
        backwards = response[::-1].copy()
        changes, entering = np.zeros(count), np.zeros(count)
        heat, temperature = 0.0, UNDISTURBED
        for n in range(count):
            past = changes[:n] @ backwards[count - 1 - n : count - 1] - heat * response[0]
            temperature, extracted = solve(
                UNDISTURBED - past, resistance, case.heating[n], case.cooling[n], temperature
            )
            changes[n], heat, entering[n] = extracted - heat, extracted, temperature
        return entering

    return step


def pass_on_by_array(means: Array, shares: Array, weights: Array) -> float:
    """Pass heat from cell to cell; return the temperature drop of all cells but the first, in NumPy."""
    means[1:] += shares * (means[:-1] - means[1:])
    return float(np.dot(weights[1:], means[1:]))


def pass_on_by_cell(means: Array, shares: Array, weights: Array) -> float:
    """Do the same cell by cell, in the form that compiles best."""
    past = 0.0
    for cell in range(len(means) - 1, 0, -1):
        means[cell] += shares[cell - 1] * (means[cell - 1] - means[cell])
        past += weights[cell] * means[cell]
    return past


def doubling_cells(compiled: Compiler, pass_on: Callable[[Array, Array, Array], float]) -> Method:
    """Average past heat in cells, five per level, with widths that double from level to level.

    Each hour a cell passes the share 1 h / width of its mean to the next (Claesson & Javed 2012, A
    load-aggregation method to calculate extraction temperatures of borehole heat exchangers, ASHRAE
    Transactions 118(1), 530; from memory).
    """
    solve, pass_on = heat_pump(compiled), compiled(pass_on)

    def walk(heating: Array, cooling: Array, weights: Array, shares: Array, resistance: float) -> Array:
        entering, temperature = np.zeros(len(heating)), UNDISTURBED
        means = np.zeros(len(weights))
        for n in range(len(heating)):
            past = pass_on(means, shares, weights)
            temperature, means[0] = solve(UNDISTURBED - past, resistance, heating[n], cooling[n], temperature)
            entering[n] = temperature
        return entering

    walk = compiled(walk)

    def step(case: Case) -> Array:
        count = len(case.heating)
        levels = int(np.ceil(np.log2(count / CELLS_A_LEVEL + 1.0)))
        widths = np.repeat(2 ** np.arange(levels), CELLS_A_LEVEL)
        ends = np.minimum(np.cumsum(widths), count)
        weights = np.diff(case.response[ends - 1], prepend=0.0)
        resistance = case.response[0] + case.to_entering
        return walk(case.heating, case.cooling, weights, 1.0 / widths[1:], resistance)

    return step


def online_convolution(compiled: Compiler) -> Method:
    """Sum exactly: hours of the current block directly, earlier hours by transforms of doubling length.

    After each block, the heat of the last L hours is applied to the next L, where L is the largest power of
    two of blocks that divides the elapsed hours (Hairer, Lubich & Schlichte 1985, Fast numerical solution of
    nonlinear Volterra convolution equations, SIAM J. Sci. Stat. Comput. 6, 532; from memory).
    """
    solve = heat_pump(compiled)

    def walk(
        heating: Array, cooling: Array, past: Array, answer: Array, to_entering: float, temperature: float
    ) -> tuple[Array, Array]:
        count = len(heating)
        backwards = answer[:count][::-1].copy()
        heat, entering = np.zeros(count), np.zeros(count)
        for n in range(count):
            recent = np.dot(heat[:n], backwards[count - 1 - n : count - 1])
            temperature, heat[n] = solve(
                UNDISTURBED - past[n] - recent, answer[0] + to_entering, heating[n], cooling[n], temperature
            )
            entering[n] = temperature
        return heat, entering

    walk = compiled(walk)

    def step(case: Case) -> Array:
        count = len(case.heating)
        answer = np.diff(case.response, prepend=0.0)
        heat, past, entering = np.zeros(count), np.zeros(count), np.zeros(count)
        spectra: dict[int, Any] = {}
        temperature = UNDISTURBED
        for begin in range(0, count, BLOCK):
            if begin:
                length = begin & -begin
                if length not in spectra:
                    spectra[length] = np.fft.rfft(answer[: 2 * length], 2 * length)
                product = spectra[length] * np.fft.rfft(heat[begin - length : begin], 2 * length)
                told = past[begin : begin + length]
                told += np.fft.irfft(product)[length : length + len(told)]
            hours = slice(begin, begin + BLOCK)
            heat[hours], entering[hours] = walk(
                case.heating[hours], case.cooling[hours], past[hours], answer, case.to_entering, temperature
            )
            temperature = entering[hours][-1]
        return entering

    return step
