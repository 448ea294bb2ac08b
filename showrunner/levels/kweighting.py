"""The K-weighting filter of ITU-R BS.1770 at any sample rate, block by block. Needs numpy."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float64]

ROW = 128
"""Samples filtered at once by one matrix product; the state is carried from row to row."""


class Biquad(NamedTuple):
    """A second-order section with a0 = 1."""

    b0: float
    b1: float
    b2: float
    a1: float
    a2: float


SHELF_48K = Biquad(1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585)
"""Stage 1 at 48 kHz (ITU-R BS.1770-5, Table 1)."""

HIGH_PASS_48K = Biquad(1.0, -2.0, 1.0, -1.99004745483398, 0.99007225036621)
"""Stage 2 at 48 kHz (ITU-R BS.1770-5, Table 2)."""

TABLE_RATE_HZ = 48000


def at_rate(section: Biquad, rate_hz: float) -> Biquad:
    """A section of the 48 kHz table at another sample rate: back to its analogue prototype, and forth again.

    Both ways by the bilinear transform, prewarped to the section's own corner, so that the response stays where it is.
    """
    b0, b1, b2, a1, a2 = section
    corner = np.sqrt((1 + a1 + a2) / (1 - a1 + a2))  # tan(π·corner frequency/48 kHz)
    scale = np.tan(np.arctan(corner) * TABLE_RATE_HZ / rate_hz) / corner
    zeros = _digital((b0 + b1 + b2) * scale**2, 2 * (b0 - b2) * scale, b0 - b1 + b2)
    poles = _digital((1 + a1 + a2) * scale**2, 2 * (1 - a2) * scale, 1 - a1 + a2)
    return Biquad(*(float(value / poles[0]) for value in (*zeros, *poles[1:])))


def _digital(dc: float, mid: float, nyquist: float) -> tuple[float, float, float]:
    """Coefficients of 1, z⁻¹ and z⁻² of a polynomial from its values at dc and Nyquist and its middle term."""
    return (dc + mid + nyquist) / 4, (dc - nyquist) / 2, (dc - mid + nyquist) / 4


class BlockFilter:
    """A cascade of sections over successive blocks of shape (channels, frames); the state lives between calls.

    A row of output is (row of input) @ T + state @ O, T being the impulse response as a Toeplitz matrix: exact up to
    rounding, and fast because it is one matrix product for all rows.
    """

    def __init__(self, sections: tuple[Biquad, ...], channels: int) -> None:
        order = 2 * len(sections)
        impulse, from_state, to_state, powers = _responses(sections, order)
        self._toeplitz = np.zeros((ROW, ROW))
        for lag in range(ROW):
            self._toeplitz[lag, lag:] = impulse[: ROW - lag]
        self._from_state, self._to_state, self._powers = from_state, to_state, powers
        self._state = np.zeros((channels, order))

    def __call__(self, block: Samples) -> Samples:
        """The filtered block, same shape."""
        channels, frames = block.shape
        rows, rest = divmod(frames, ROW)
        out = np.empty_like(block)
        if rows:
            whole = np.ascontiguousarray(block[:, : rows * ROW]).reshape(channels, rows, ROW)
            states = self._scan(whole @ self._to_state)
            filtered = whole @ self._toeplitz
            filtered += states @ self._from_state
            out[:, : rows * ROW] = filtered.reshape(channels, rows * ROW)
        if rest:
            tail = block[:, rows * ROW :]
            out[:, rows * ROW :] = tail @ self._toeplitz[:rest, :rest] + self._state @ self._from_state[:, :rest]
            self._state = self._state @ self._powers[rest] + tail @ self._to_state[ROW - rest :]
        return out

    def _scan(self, driven: Samples) -> Samples:
        """The state at the start of each row, from what each row adds to it; shape (channels, rows, order)."""
        states, state, step = np.empty_like(driven), self._state, self._powers[ROW]
        for row in range(driven.shape[1]):
            states[:, row] = state
            state = state @ step + driven[:, row]
        self._state = state
        return states


def _responses(sections: tuple[Biquad, ...], order: int) -> tuple[Samples, Samples, Samples, Samples]:
    """Over one row: impulse response, output of each unit state, each input's share in the state, transition powers."""
    transition, into, out_of, through = _state_space(sections, order)
    powers = np.empty((ROW + 1, order, order))
    powers[0] = np.eye(order)
    for n in range(ROW):
        powers[n + 1] = powers[n] @ transition
    from_state = np.stack([powers[n] @ out_of for n in range(ROW)], axis=1)
    to_state = np.stack([into @ powers[ROW - 1 - n] for n in range(ROW)])
    impulse = np.concatenate(([through], into @ from_state[:, : ROW - 1]))
    return impulse, from_state, to_state, powers


def _state_space(sections: tuple[Biquad, ...], order: int) -> tuple[Samples, Samples, Samples, float]:
    """Transition, input, output and feed-through of the cascade, each section in transposed direct form II.

    Row vectors: state' = state @ transition + x·into, y = state @ out_of + x·through.
    """
    inputs = np.zeros((order + 1, order + 1))  # what each state and the input carry into the section at hand
    signal = np.zeros(order + 1)
    signal[order] = 1.0
    for index, (b0, b1, b2, a1, a2) in enumerate(sections):
        first, second = 2 * index, 2 * index + 1
        output = b0 * signal
        output[first] += 1.0
        inputs[:, first] = b1 * signal - a1 * output
        inputs[second, first] += 1.0
        inputs[:, second] = b2 * signal - a2 * output
        signal = output
    return inputs[:order, :order], inputs[order, :order], signal[:order], float(signal[order])
