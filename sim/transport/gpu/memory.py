"""Memory as the card likes it: tables read by sixteen bytes at once, scratch that nobody fills.

Compilers do not merge four loads of four bytes. And numba fills each array of a thread with zeros when it starts, which
for a photon's scratch is more to write than all that a photon reads; whoever takes scratch here writes before reading.
"""

import importlib
import math
from collections.abc import Callable
from typing import Any, TypeAlias, cast

import numpy as np
from llvmlite import ir

from sim.transport.arrays import F32
from sim.transport.gpu.target import SIMULATED

Floats: TypeAlias = tuple[Any, Any, Any, Any]
"""Four float32."""
Integers: TypeAlias = tuple[int, int, int, int]


def _loader(number: str) -> Callable[..., Any]:  # pragma: no cover  # needs a card
    """Return a function for the card's kernels that loads four numbers of a type from a flat table of float32."""
    types: Any = importlib.import_module("numba.cuda.types")
    extending: Any = importlib.import_module("numba.cuda.extending")
    element: ir.Type = ir.FloatType() if number == "float32" else ir.IntType(32)
    kind = getattr(types, number)

    def load(typing: Any, table: Any, at: Any) -> Any:
        def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            array = context.make_array(sig.args[0])(context, builder, args[0])
            address = builder.gep(array.data, [args[1]])
            four = builder.load(builder.bitcast(address, ir.VectorType(element, 4).as_pointer()), align=16)
            lanes = [builder.extract_element(four, ir.Constant(ir.IntType(32), lane)) for lane in range(4)]
            return context.make_tuple(builder, sig.return_type, lanes)

        return types.UniTuple(kind, 4)(table, types.int64), code

    return cast(Callable[..., Any], extending.intrinsic(load))


def _floats_one_by_one(table: F32, at: int) -> Floats:
    return table[at], table[at + 1], table[at + 2], table[at + 3]


def _integers_one_by_one(table: F32, at: int) -> Integers:
    a, b, c, d = table[at : at + 4].view("int32")
    return int(a), int(b), int(c), int(d)


def _allocator(number: str, shape: tuple[int, ...]) -> Callable[..., Any]:  # pragma: no cover  # needs a card
    """Return a function for the card's kernels that returns scratch of a thread, an array of a type and shape."""
    types: Any = importlib.import_module("numba.cuda.types")
    extending: Any = importlib.import_module("numba.cuda.extending")
    kind = types.Array(getattr(types, number), len(shape), "C")
    count, size = math.prod(shape), np.dtype(number).itemsize
    strides = [size * math.prod(shape[axis + 1 :]) for axis in range(len(shape))]

    def scratch(typing: Any) -> Any:
        def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            element = context.get_data_type(kind.dtype)
            with builder.goto_entry_block():
                memory = builder.alloca(ir.ArrayType(element, count))
            memory.align = 16
            array = context.make_array(kind)(context, builder)
            context.populate_array(
                array,
                data=builder.bitcast(memory, array.data.type),
                shape=[context.get_constant(types.intp, part) for part in shape],
                strides=[context.get_constant(types.intp, part) for part in strides],
                itemsize=context.get_constant(types.intp, size),
                meminfo=None,
            )
            return array._getvalue()  # numba's way to hand on an array

        return kind(), code

    return cast(Callable[..., Any], extending.intrinsic(scratch))


def scratch(number: str, *shape: int) -> Callable[[], Any]:
    """Return what a kernel calls for an array of its own, of a type such as "float64" and a shape."""
    if SIMULATED:
        return lambda: np.full(shape, -1, dtype=number)
    return _allocator(number, shape)


# The simulator of a card runs Python, where there is nothing to load.
four_floats = _floats_one_by_one if SIMULATED else _loader("float32")
four_integers = _integers_one_by_one if SIMULATED else _loader("int32")
"""Take a flat table whose rows begin at multiples of sixteen bytes, and a place in it that is a multiple of four."""
