"""Laws of sums on a grid: convolution by shifted adds, many conditions at once."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = ["Kernel", "binomial", "convolve", "grid_floor", "kernel_of", "point", "split"]

Array = NDArray[np.float64]
Kernel = list[tuple[int, Array]]
"""Spikes of a law on the grid: (grid steps, probability in each condition, shape (c,))."""

_MANY_SPIKES = 24
"""A law of more spikes than this is convolved by FFT."""


def kernel_of(steps: float, duty: Array, count: int) -> Kernel:
    """Law of ``count`` units of ``steps`` grid steps, each on with ``duty``; spikes rising.

    With several units, the power of k units together is split, not that of each: less error.
    """
    if count == 1:
        whole, part = split(steps)
        kernel = [(0, 1.0 - duty), (whole, duty * (1.0 - part))]
        if part > 0.0:
            kernel.append((whole + 1, duty * part))
        return kernel if whole > 0 else _merged(kernel)
    chance = binomial(count, duty)
    kernel = []
    for k in np.flatnonzero((chance > 1e-18).any(axis=0)):
        whole, part = split(float(k) * steps)
        kernel.append((whole, chance[:, k] * (1.0 - part)))
        if part > 0.0:
            kernel.append((whole + 1, chance[:, k] * part))
    return _merged(kernel)


def _merged(kernel: Kernel) -> Kernel:
    """Spikes at the same place added up, in rising order; there is always one at zero."""
    at: dict[int, Array] = {0: np.zeros_like(kernel[0][1])}
    for step, weight in kernel:
        at[step] = at[step] + weight if step in at else weight
    return sorted(at.items())


def binomial(count: int, duty: Array) -> Array:
    """P(k of ``count`` on), shape (c, count + 1)."""
    k = np.arange(count + 1)
    choose = np.array(
        [math.lgamma(count + 1) - math.lgamma(j + 1) - math.lgamma(count - j + 1) for j in k]
    )
    p = np.clip(duty, 1e-300, 1.0 - 1e-16)[:, None]
    law: Array = np.exp(choose + k * np.log(p) + (count - k) * np.log1p(-p))
    law /= law.sum(axis=1, keepdims=True)
    return law


def convolve(law: Array, filled: int, kernel: Kernel) -> int:
    """Convolve the first ``filled`` columns of ``law`` (c, m) with ``kernel``, in place.

    What would go beyond the last column is dropped. Returns the columns now in use.
    """
    size = int(law.shape[1])
    end = min(filled + kernel[-1][0], size)
    if len(kernel) > _MANY_SPIKES:
        _convolve_fft(law, filled, end, kernel)
        return end
    old = law[:, :filled].copy()
    law[:, :filled] *= kernel[0][1][:, None]
    moved = np.empty_like(old)
    for step, weight in kernel[1:]:
        stop = min(filled + step, size)
        if stop > step:
            part = moved[:, : stop - step]
            np.multiply(old[:, : stop - step], weight[:, None], out=part)
            law[:, step:stop] += part
    return end


def _convolve_fft(law: Array, filled: int, end: int, kernel: Kernel) -> None:
    """As ``convolve`` for a law of many spikes; absolute error near 1e-16 (tested ≤ 1e-12)."""
    spikes = np.zeros((law.shape[0], kernel[-1][0] + 1))
    for step, weight in kernel:
        spikes[:, step] += weight
    size = 1 << (filled + kernel[-1][0]).bit_length()
    product = np.fft.rfft(law[:, :filled], size) * np.fft.rfft(spikes, size)
    law[:, :end] = np.maximum(np.fft.irfft(product, size)[:, :end], 0.0)


def point(conditions: int, top: int) -> Array:
    """The law that is surely zero, on ``top + 1`` grid points."""
    law = np.zeros((conditions, top + 1))
    law[:, 0] = 1.0
    return law


def grid_floor(power_w: float, step_w: float) -> int:
    """Last grid step that does not lie above ``power_w``; a rounding error does not count."""
    return math.floor(power_w / step_w + 1e-9)


def split(steps: float) -> tuple[int, float]:
    """Whole grid steps and the rest, which is zero where it is no more than rounding."""
    nearest = round(steps)
    if abs(steps - nearest) <= 1e-9:
        return nearest, 0.0
    whole = math.floor(steps)
    return whole, steps - whole
