"""The types of what a search sees, so that it is compiled once for them and for no others."""

from __future__ import annotations

from typing import Any

from numba import types

from jobprep.nesting.fields import Fields
from jobprep.nesting.kernels_address import ByAddress
from jobprep.nesting.layout import Effort, Hulls, Layout, Scene, Shapes, Weights

F4, F8, I4, I8, U8 = types.f4, types.f8, types.i4, types.i8, types.u8


def _named(declared: Any, *columns: Any) -> Any:
    return types.NamedTuple(columns, declared)  # type: ignore[no-untyped-call]


def _by_address(declared: Any, *columns: Any) -> Any:
    return ByAddress(_named(declared, *columns))


FIELDS = _by_address(
    Fields,
    F8[:, ::1],  # frame
    I8[:, ::1],  # size
    F4[::1],  # depth
    I4[::1],  # first
    I4[::1],  # near
    F8[:, ::1],  # edges
    I8[::1],  # edge_first
)
HULLS = _by_address(
    Hulls,
    F8[:, ::1],  # corners
    I4[:, ::1],  # table
    F8[:, ::1],  # disc
)
SHAPES = _by_address(
    Shapes,
    I4[:, ::1],  # pair
    F8[:, ::1],  # turns
    I8[::1],  # n_turns
    F8[:, :, ::1],  # extent
    I8[::1],  # own
    F8[:, ::1],  # samples
    I8[::1],  # sample_first
    F8[:, ::1],  # edges
    I8[::1],  # edge_first
    F8[::1],  # size
    F8[::1],  # radius
    I8[::1],  # straight
    I8[::1],  # straight_first
    I8[::1],  # hollow
    HULLS,
)
LAYOUT = _by_address(
    Layout,
    I8[::1],  # kind
    F8[:, ::1],  # spots
    F8[:, ::1],  # boxes
    F8[:, ::1],  # bounds
    I8[::1],  # fields
    F8[::1],  # share
    I8[:, ::1],  # members
    I8[::1],  # n_members
    I8[::1],  # place
    U8[:, :, :, ::1],  # lanes
    F8[:, ::1],  # scale
)
WEIGHTS = _by_address(
    Weights,
    F4[:, ::1],  # pair
    F8[::1],  # edge
    F8[::1],  # heft
)
SCENE = _named(Scene, FIELDS, SHAPES, LAYOUT, WEIGHTS)
EFFORT = types.NamedUniTuple(I8, len(Effort._fields), Effort)  # type: ignore[no-untyped-call]
