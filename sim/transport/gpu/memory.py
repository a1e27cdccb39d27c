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

from sim.transport.arrays import F32, F64, I32
from sim.transport.gpu.target import SIMULATED, card_helper, cuda

Four: TypeAlias = tuple[Any, Any, Any, Any]
"""Four numbers of the type of their table."""
Two: TypeAlias = tuple[Any, Any]
Whole: TypeAlias = Any
"""A whole number: the card counts in thirty-two bits where it is in a hurry."""
_ELEMENTS = {"float32": ir.FloatType(), "float64": ir.DoubleType(), "int32": ir.IntType(32)}


def _vector_at(context: Any, builder: Any, table: Any, args: Any, kind: ir.Type) -> Any:  # pragma: no cover  # a card's
    """Return the address of a vector at a place of a table."""
    array = context.make_array(table)(context, builder, args[0])
    # Places are not negative, so that no index is wrapped around as Python's are.
    return builder.bitcast(builder.gep(array.data, [args[1]]), kind.as_pointer())


def _loader(number: str, lanes: int) -> Callable[..., Any]:  # pragma: no cover  # needs a card
    """Return a function for the card's kernels that loads numbers of a type from a flat table."""
    types: Any = importlib.import_module("numba.cuda.types")
    extending: Any = importlib.import_module("numba.cuda.extending")
    vector = ir.VectorType(_ELEMENTS[number], lanes)
    size = lanes * np.dtype(number).itemsize

    def load(typing: Any, table: Any, at: Any) -> Any:
        def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            found = builder.load(_vector_at(context, builder, sig.args[0], args, vector), align=size)
            parts = [builder.extract_element(found, ir.Constant(ir.IntType(32), lane)) for lane in range(lanes)]
            return context.make_tuple(builder, sig.return_type, parts)

        return types.UniTuple(getattr(types, number), lanes)(table, at), code

    return cast(Callable[..., Any], extending.intrinsic(load))


def _pair_storer() -> Callable[..., Any]:  # pragma: no cover  # needs a card
    """Return a function for the card's kernels that writes two int32 to an even place of a flat array at once."""
    types: Any = importlib.import_module("numba.cuda.types")
    extending: Any = importlib.import_module("numba.cuda.extending")
    element = ir.IntType(32)
    vector = ir.VectorType(element, 2)

    def store(typing: Any, table: Any, at: Any, first: Any, second: Any) -> Any:
        def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            pair = ir.Constant(vector, ir.Undefined)
            for lane in range(2):
                pair = builder.insert_element(pair, args[2 + lane], ir.Constant(element, lane))
            builder.store(pair, _vector_at(context, builder, sig.args[0], args, vector), align=8)
            return context.get_dummy_value()

        return types.void(table, at, types.int32, types.int32), code

    return cast(Callable[..., Any], extending.intrinsic(store))


def _four_one_by_one(table: F32 | I32, at: Whole) -> Four:
    return table[at], table[at + 1], table[at + 2], table[at + 3]


def _two_one_by_one(table: F64 | I32, at: Whole) -> Two:
    return table[at], table[at + 1]


def _word(half: int) -> Callable[[float], Any]:
    return lambda value: np.array([value]).view(np.int32)[half]


def _store_one_by_one(table: I32, at: Whole, first: Whole, second: Whole) -> None:
    table[at], table[at + 1] = first, second


def _permuted(low: Whole, high: Whole, pick: Whole) -> Any:  # numpy's own int32
    """Return the four bytes that four hexadecimal digits pick from those of two words, the lowest first."""
    source = np.array([low, high], dtype=np.int32).view(np.uint8)
    return source[[pick >> 4 * place & 7 for place in range(4)]].view(np.int32)[0]


def _one_over(value: np.float32) -> np.float32:
    return np.float32(1.0) / value


def _as_bits(value: np.float32) -> Any:
    return np.float32(value).view(np.int32)


def _as_float(bits: Whole) -> np.float32:
    return np.int32(bits).view(np.float32)


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


def _as_it_is(value: Any) -> Any:  # a number
    return value


def _vote(group: int, yes: Any) -> int:
    return int(yes)


def _one_step(name: str) -> Callable[..., Any]:  # pragma: no cover  # needs a card
    """Return a function for the card's kernels that is one instruction, from a float32 to another."""
    types: Any = importlib.import_module("numba.cuda.types")
    extending: Any = importlib.import_module("numba.cuda.extending")
    kind = ir.FunctionType(_ELEMENTS["float32"], [_ELEMENTS["float32"]])

    def step(typing: Any, value: Any) -> Any:
        def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            return builder.call(ir.InlineAsm(kind, f"{name} $0, $1;", "=f,f", side_effect=True), args)

        return types.float32(types.float32), code

    return cast(Callable[..., Any], extending.intrinsic(step))


def _group_and_vote() -> tuple[Callable[[], int], Callable[[int, Any], int]]:  # pragma: no cover  # needs a card
    """Return functions for the card's kernels: who runs in step, and of whom something is true."""

    def group() -> int:
        found: int = cuda.activemask()
        return found

    def vote(group: int, yes: bool) -> int:
        found: int = cuda.ballot_sync(group, yes)
        return found

    return card_helper(group), card_helper(vote)


def _apart() -> Callable[[], None]:  # pragma: no cover  # needs a card
    """Return what a function calls to be compiled apart from those that call it."""
    types: Any = importlib.import_module("numba.cuda.types")
    extending: Any = importlib.import_module("numba.cuda.extending")

    def stay(typing: Any) -> Any:
        def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            builder.function.attributes.add("noinline")
            return context.get_dummy_value()

        return types.none(), code

    return cast(Callable[[], None], extending.intrinsic(stay))


def _nothing() -> None:
    pass


def _sum_of_products(ax: float, ay: float, az: float, bx: float, by: float, bz: float) -> float:
    return ax * bx + ay * by + az * bz


def _products_rounded() -> Callable[..., float]:  # pragma: no cover  # needs a card
    """Return a function for the card's kernels that multiplies vectors and rounds each product, as processors do."""
    types: Any = importlib.import_module("numba.cuda.types")
    extending: Any = importlib.import_module("numba.cuda.extending")
    kind = _ELEMENTS["float64"]
    steps = "mul.rn.f64 one, $1, $4; mul.rn.f64 other, $2, $5; add.rn.f64 one, one, other; mul.rn.f64 other, $3, $6;"
    text = f"{{ .reg .f64 one, other; {steps} add.rn.f64 $0, one, other; }}"
    rounded = ir.InlineAsm(ir.FunctionType(kind, [kind] * 6), text, "=d,d,d,d,d,d,d")

    def multiply(typing: Any, ax: Any, ay: Any, az: Any, bx: Any, by: Any, bz: Any) -> Any:
        def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
            return builder.call(rounded, args)

        return types.float64(*[types.float64] * 6), code

    return cast(Callable[..., float], extending.intrinsic(multiply))


def _instruction(name: str) -> Any:  # pragma: no cover  # needs a card
    return getattr(importlib.import_module("numba.cuda.libdevice"), name)


# The simulator of a card runs Python, where there is nothing to load at once.
four_floats = _four_one_by_one if SIMULATED else _loader("float32", 4)
four_integers = _four_one_by_one if SIMULATED else _loader("int32", 4)
two_floats = _two_one_by_one if SIMULATED else _loader("float64", 2)
two_integers = _two_one_by_one if SIMULATED else _loader("int32", 2)
store_two = _store_one_by_one if SIMULATED else _pair_storer()
"""Take a flat table, and a place in it that is a multiple of how many numbers are loaded or stored."""
low_word = _word(0) if SIMULATED else _instruction("double2loint")
high_word = _word(1) if SIMULATED else _instruction("double2hiint")
"""The lower and the upper four bytes of a float64 as integers."""
product = _sum_of_products if SIMULATED else _products_rounded()
"""The product of two vectors, to the last bit as the processor finds it: the card likes to leave out some rounding."""
permute_bytes = _permuted if SIMULATED else _instruction("byte_perm")
bits_of = _as_bits if SIMULATED else _instruction("float_as_int")
float_of = _as_float if SIMULATED else _instruction("int_as_float")
"""`permute_bytes` picks four bytes, the lowest first, from those of two words by the digits of a third, 0 to 7."""
kept_float = _as_it_is if SIMULATED else _one_step("mov.b32")
"""The compiler moves cheap steps to where they are used, also into loops: not past this one."""
inverse = _one_over if SIMULATED else _one_step("rcp.approx.ftz.f32")
"""One over a number between 2^-126 and 2^126, to two roundings."""
group_here, vote = (lambda: 1, _vote) if SIMULATED else _group_and_vote()
"""The threads that run in step with this one, and those of them of which something is true, a bit each.

All of them must vote.
"""
stay_apart = _nothing if SIMULATED else _apart()
"""Keeps what calls it a function of its own: else the compiler copies all that a kernel calls to wherever it is called.

It is for large functions of few arrays that are called in several places and not for each ray: all of an array's
numbers are handed over, and registers are saved for it.
"""
ones = _as_it_is if SIMULATED else _instruction("popc")
