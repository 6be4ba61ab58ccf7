"""Curves to dots: time runs down, four dot rows and two dot columns to a character cell."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from engine.block import FloatArray

IntArray = npt.NDArray[np.int32]

# Dot bits of the Unicode braille block: row, column -> bit (Unicode Standard, U+2800 to U+28FF).
BITS = np.array([[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]], np.uint8)
DOT_ROWS = 4


def buckets(
    t: FloatArray, column: FloatArray, edges: FloatArray, hold: float
) -> tuple[FloatArray, FloatArray]:
    """Return the smallest and largest value between each two `edges`.

    Parameters
    ----------
    t, column : ndarray
        Times [s] and values of one channel, shape (n,); NaN where there is none.
    edges : ndarray
        Ends of the buckets, rising, shape (m + 1,). [s]
    hold : float
        A bucket without a sample takes the last value before it if that is no older. [s]

    Returns
    -------
    low, high : ndarray
        Shape (m,). NaN for a bucket of NaN, after a NaN, and after the newest sample.
    """
    index = np.searchsorted(t, edges)
    low = np.full(edges.size - 1, np.nan)
    filled = index[1:] > index[:-1]  # reduceat wants the empty buckets taken out
    high = low.copy()
    if filled.any():
        starts, part = index[:-1][filled], column[: index[-1]]
        low[filled] = np.fmin.reduceat(part, starts)
        high[filled] = np.fmax.reduceat(part, starts)
    before = index[:-1] - 1
    empty = ~filled & (before >= 0)
    if t.size:
        empty &= (edges[:-1] - t[np.maximum(before, 0)] <= hold) & (edges[:-1] <= t[-1])
    low[empty] = high[empty] = column[before[empty]]
    return low, high


def dots(low: FloatArray, high: FloatArray, width: int) -> tuple[IntArray, IntArray]:
    """Return first and last dot of each dot row, joined to the row above but never over a gap.

    Parameters
    ----------
    low, high : ndarray
        Shares of the width, 0 to 1, shape (m,); entry 0 is the row before the wanted ones.
    width : int
        In cells.

    Returns
    -------
    first, last : ndarray
        Shape (m - 1,); first > last where there is nothing to draw.
    """
    reach = 2 * width - 1
    a = np.where(np.isnan(low), 1, np.clip(np.nan_to_num(low), 0, 1) * reach + 0.5)
    b = np.where(np.isnan(high), 0, np.clip(np.nan_to_num(high), 0, 1) * reach + 0.5)
    a, b = a.astype(np.int32), b.astype(np.int32)
    gap = np.isnan(low)
    a[gap], b[gap] = 1, 0
    join = ~gap[1:] & ~gap[:-1]
    first = np.where(join & (a[1:] > b[:-1]), b[:-1] + 1, a[1:])
    last = np.where(join & (b[1:] < a[:-1]), a[:-1] - 1, b[1:])
    return first.astype(np.int32), last.astype(np.int32)


def cells(
    first: IntArray, last: IntArray, width: int
) -> tuple[npt.NDArray[np.uint8], npt.NDArray[np.int8]]:
    """Return the dots of each cell and which curve is on top.

    Every curve but the first is dotted, so that curves can be told apart without colour: of each
    two dot rows the second is left out, and where it runs sideways every other dot. A dot row
    whose partner above is empty stays, so that nothing short is lost.

    Parameters
    ----------
    first, last : ndarray
        As `dots` gives them, one row a curve, shape (curves, 4 * h).
    width : int
        In cells.

    Returns
    -------
    bits : ndarray of uint8
        Braille bits, shape (h, width).
    top : ndarray of int8
        Number of the first curve in each cell, -1 for none, shape (h, width).
    """
    curves, rows = first.shape
    x = np.arange(2 * width)
    on = (x >= first[:, :, None]) & (x <= last[:, :, None])
    partner = np.zeros((curves, rows), bool)
    partner[1:, 1::2] = (first <= last)[1:, 0::2]
    sideways = (last - first >= 2)[:, :, None] & (x % 2 == 0)
    on &= ~partner[:, :, None] | sideways
    on = on.reshape(curves, rows // DOT_ROWS, DOT_ROWS, width, 2)
    weighted = on * BITS[None, None, :, None, :]
    bits = weighted.sum(axis=(2, 4), dtype=np.uint8)
    top = np.full(bits.shape[1:], -1, np.int8)
    for curve in range(curves - 1, -1, -1):
        top[bits[curve] != 0] = curve
    return np.bitwise_or.reduce(bits, axis=0), top


def text_rows(
    bits: npt.NDArray[np.uint8], top: npt.NDArray[np.int8], curves: str = ""
) -> list[str]:
    """Return one string a cell row: braille, or with `curves` one plain mark a curve."""
    height, width = bits.shape
    if curves:
        marks = np.array([ord(c) for c in curves], np.uint32)
        code = np.where(top < 0, 0x20, marks[np.clip(top, 0, len(curves) - 1)])
    else:
        code = np.where(bits, bits.astype(np.uint32) + 0x2800, 0x20)
    text = code.astype("<u4").tobytes().decode("utf-32-le")
    return [text[i * width : (i + 1) * width] for i in range(height)]
