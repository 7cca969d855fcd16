"""Hand tuples of arrays to kernels by one address each, not by the heads of all their arrays.

A kernel gets an array by its head: seven numbers or more. A tuple of fifteen arrays is more than a
hundred of them at each call, which the compiler has to write down, and to optimise away again.
"""

from __future__ import annotations

from typing import Any

from numba import extending, types
from numba.core import cgutils, imputils
from numba.core.typing.templates import AttributeTemplate

from jobprep.nesting.fields import Fields
from jobprep.nesting.layout import Hulls, Layout, Shapes, Weights

TUPLES = (Fields, Hulls, Layout, Shapes, Weights)
"""What kernels get by its address."""

_cgutils: Any = cgutils
_extending: Any = extending
_imputils: Any = imputils
_Model: Any = extending.models.PrimitiveModel
_Template: Any = AttributeTemplate
_Types: Any = types


class ByAddress(types.Type):
    """The type of a named tuple that a kernel gets by its address; ``whole`` is its own type."""

    def __init__(self, whole: Any) -> None:
        self.whole = whole
        super().__init__(name=f"ByAddress({whole})")


class _Address(_Model):  # type: ignore[misc]
    """What stands for such a tuple in machine code: where its columns are."""

    def __init__(self, models: Any, held: ByAddress) -> None:
        whole = models.lookup(held.whole).get_value_type()
        super().__init__(models, held, whole.as_pointer())


class _Columns(_Template):  # type: ignore[misc]
    """The types of a tuple's columns."""

    key = ByAddress

    def generic_resolve(self, held: ByAddress, name: str) -> Any:
        whole = held.whole
        return whole.types[whole.fields.index(name)] if name in whole.fields else None


def _column(context: Any, builder: Any, held: ByAddress, address: Any, name: str) -> Any:
    """Return a column, as code that reads it."""
    place = held.whole.fields.index(name)
    column = builder.load(_cgutils.gep_inbounds(builder, address, 0, place))
    return _imputils.impl_ret_borrowed(context, builder, held.whole.types[place], column)


def _taken_in(held: ByAddress, given: Any, c: Any) -> Any:
    """Return the address of a tuple that Python hands over, valid until the kernel returns."""
    whole = c.unbox(held.whole, given)

    def cleanup() -> None:
        if whole.cleanup is not None:
            whole.cleanup()
        if c.context.enable_nrt:  # the arrays were counted when they were taken in
            c.context.nrt.decref(c.builder, held.whole, whole.value)

    address = _cgutils.alloca_once_value(c.builder, whole.value)
    return _extending.NativeValue(address, is_error=whole.is_error, cleanup=cleanup)


def _type_of(value: Any, context: Any) -> ByAddress:
    columns = [_extending.typeof_impl(column, context) for column in value]
    return ByAddress(_Types.NamedTuple(columns, type(value)))


_extending.register_model(ByAddress)(_Address)
_extending.infer_getattr(_Columns)
_extending.lower_getattr_generic(ByAddress)(_column)
_extending.unbox(ByAddress)(_taken_in)
for each in TUPLES:
    _extending.typeof_impl.register(each)(_type_of)
