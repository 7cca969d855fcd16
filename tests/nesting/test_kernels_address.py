"""Tuples of arrays that kernels get by their address."""

from __future__ import annotations

import gc
import sys

import numpy as np
import pytest
from numba.core.errors import TypingError

from jobprep.nesting.kernels_address import ByAddress
from jobprep.nesting.kernels_inner import inner, kernel
from jobprep.nesting.kernels_types import WEIGHTS
from jobprep.nesting.layout import Weights


@pytest.fixture
def weights() -> Weights:
    return Weights(np.ones((2, 2), np.float32), np.array([3.0, 4.0]), np.array([5.0, 6.0]))


def test_a_kernel_reads_and_writes_the_arrays_themselves(weights: Weights) -> None:
    @inner()
    def exchanged(held):  # type: ignore[no-untyped-def]
        held.edge[0], held.heft[1] = held.heft[1], held.edge[0]
        held.pair[1, 0] = 9.0

    @kernel
    def outer(held, n):  # type: ignore[no-untyped-def]
        for _ in range(n):
            exchanged(held)
        return len(held.edge)

    assert outer(weights, 3) == 2
    assert weights.edge.tolist() == [6.0, 4.0]
    assert weights.heft.tolist() == [5.0, 3.0]
    assert weights.pair.tolist() == [[1.0, 1.0], [9.0, 1.0]]


def test_a_kernel_returns_an_array_that_outlives_its_tuple(weights: Weights) -> None:
    @kernel
    def edge_of(held):  # type: ignore[no-untyped-def]
        return held.edge

    edge = edge_of(weights._replace(edge=np.arange(1000.0)))
    gc.collect()
    assert edge.sum() == 499500.0


def test_the_arrays_are_counted_as_often_as_before(weights: Weights) -> None:
    @kernel
    def first_of(held):  # type: ignore[no-untyped-def]
        edge = held.edge
        return edge[0]

    first_of(weights)
    before = [sys.getrefcount(column) for column in weights]
    for _ in range(100):
        first_of(weights)
    assert [sys.getrefcount(column) for column in weights] == before


def test_what_a_kernel_is_called_with_has_the_type_it_is_compiled_for(weights: Weights) -> None:
    @kernel
    def first_of(held):  # type: ignore[no-untyped-def]
        return held.edge[0]

    first_of(weights)
    assert list(first_of.overloads) == [(WEIGHTS,)]
    assert isinstance(WEIGHTS, ByAddress)


def test_a_column_that_is_not_there_is_refused(weights: Weights) -> None:
    @kernel
    def wrong(held):  # type: ignore[no-untyped-def]
        return held.nothing

    with pytest.raises(TypingError, match="nothing"):
        wrong(weights)


@pytest.mark.parametrize("threshold", [(700, 10, 10), (0, 10, 10), (200_000, 5, 5)])
def test_compiling_leaves_the_collector_as_it_was(threshold: tuple[int, int, int]) -> None:
    @kernel
    def doubled(x):  # type: ignore[no-untyped-def]
        return 2.0 * x

    before = gc.get_threshold()
    try:
        gc.set_threshold(*threshold)
        assert doubled(1.5) == 3.0
        assert gc.get_threshold() == threshold
    finally:
        gc.set_threshold(*before)
