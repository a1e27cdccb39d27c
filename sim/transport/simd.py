"""Sixteen numbers or a vector in space at once: types and the few operations of rays, for use inside kernels.

LLVM does not find vectors of this width in plain loops of sixteen turns, so they are said outright. Operations are
those of single numbers, lane by lane, but that `fused` and `inverse` may round otherwise. Where a machine has narrower
vectors, LLVM splits these; `permute` and `compress` alone need AVX-512.

Nothing here runs without compilation, and an index is not checked.
"""

import operator
from collections.abc import Callable
from typing import Any, TypeAlias, cast

from llvmlite import ir
from numba.core import cgutils, types
from numba.core.typing.templates import ConcreteTemplate, infer_global, signature
from numba.extending import intrinsic, lower_builtin, models, register_model

from sim.transport.jit import VECTORS

LANES = 16

Floats: TypeAlias = Any
"""Sixteen float32 in a register."""
Integers: TypeAlias = Any
"""Sixteen int32 in a register."""

_WORD = ir.IntType(64)
_FLOATS = ir.VectorType(ir.FloatType(), LANES)
_INTEGERS = ir.VectorType(ir.IntType(32), LANES)
_HALVES = ir.VectorType(_WORD, LANES // 2)
_BITS = ir.VectorType(ir.IntType(1), LANES)
_MASK = ir.IntType(LANES)
_FOUR, _SHORT_FOUR = ir.VectorType(ir.DoubleType(), 4), ir.VectorType(ir.FloatType(), 4)
_THREE_OF_FOUR = ir.Constant(ir.VectorType(ir.IntType(1), 4), [1, 1, 1, 0])


class _Lanes(types.Type):
    """A register of some lanes, as numba's typing sees it."""

    def __init__(self, name: str, kind: ir.VectorType) -> None:
        super().__init__(name)
        self.kind = kind


FLOATS, INTEGERS = _Lanes("sixteen float32", _FLOATS), _Lanes("sixteen int32", _INTEGERS)
VECTOR, SHORT_VECTOR = _Lanes("vector of float64", _FOUR), _Lanes("vector of float32", _SHORT_FOUR)


@register_model(_Lanes)
class _LanesModel(models.PrimitiveModel):
    def __init__(self, manager: Any, kind: _Lanes) -> None:
        super().__init__(manager, kind, kind.kind)


def _operation(code: Callable[..., Any]) -> Callable[..., Any]:
    """Make what returns a signature and its code callable in kernels, without numba's first argument."""
    return cast(Callable[..., Any], intrinsic(code))


def _arithmetic(operation: Any, instruction: str) -> None:
    """Let an operator of Python work on two registers of floats."""

    @infer_global(operation)
    class _(ConcreteTemplate):
        cases = tuple(signature(kind, kind, kind) for kind in (FLOATS, VECTOR, SHORT_VECTOR))

    def _lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return getattr(builder, instruction)(*args)

    for kind in (FLOATS, VECTOR, SHORT_VECTOR):
        lower_builtin(operation, kind, kind)(_lower)


for _operator, _instruction in (
    (operator.add, "fadd"),
    (operator.sub, "fsub"),
    (operator.mul, "fmul"),
    (operator.truediv, "fdiv"),
):
    _arithmetic(_operator, _instruction)


def _pointer(context: Any, builder: Any, kind: Any, array: Any, at: Any) -> Any:
    """Return the address of an element of a contiguous array, counted over all its axes."""
    return builder.gep(context.make_array(kind)(context, builder, array).data, [at])


def _bits(builder: Any, mask: Any) -> Any:
    return builder.bitcast(builder.trunc(mask, _MASK), _BITS)


def _mask(builder: Any, bits: Any) -> Any:
    return builder.zext(builder.bitcast(bits, _MASK), _WORD)


def _splat(builder: Any, value: Any, kind: Any) -> Any:
    one = builder.insert_element(ir.Constant(kind, ir.Undefined), value, ir.Constant(ir.IntType(32), 0))
    zeros = ir.Constant(ir.VectorType(ir.IntType(32), kind.count), [0] * kind.count)
    return builder.shuffle_vector(one, ir.Constant(kind, ir.Undefined), zeros)


def _called(builder: Any, name: str, result: Any, *arguments: Any) -> Any:
    kind = ir.FunctionType(result, [argument.type for argument in arguments])
    return builder.call(cgutils.get_or_insert_function(builder.module, kind, name), arguments)


@_operation
def load(typingctx: Any, array: Any, at: Any) -> Any:
    """Return sixteen neighbours of a contiguous array of float32 or int32, of any shape, from a flat index on."""
    lanes, kind = (FLOATS, _FLOATS) if array.dtype is types.float32 else (INTEGERS, _INTEGERS)

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        pointer = _pointer(context, builder, sig.args[0], *args)
        # An address that promises more than four bytes ends the program where an array starts elsewhere.
        return builder.load(builder.bitcast(pointer, kind.as_pointer()), align=4)

    return lanes(array, types.int64), code


@_operation
def store(typingctx: Any, array: Any, at: Any, value: Any) -> Any:
    """Write all lanes to neighbours of a contiguous array, from a flat index on."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        pointer = _pointer(context, builder, sig.args[0], *args[:2])
        builder.store(args[2], builder.bitcast(pointer, args[2].type.as_pointer()), align=4)
        return context.get_dummy_value()

    return types.void(array, types.int64, value), code


@_operation
def splat(typingctx: Any, value: Any) -> Any:
    """Return a float32 in all lanes."""
    return FLOATS(types.float32), lambda context, builder, sig, args: _splat(builder, args[0], _FLOATS)


@_operation
def least(typingctx: Any, a: Any, b: Any) -> Any:
    """Return the lesser in each lane; no lane may hold NaN."""
    return FLOATS(FLOATS, FLOATS), lambda context, builder, sig, args: builder.select(
        builder.fcmp_ordered("<", *args), *args
    )


@_operation
def greatest(typingctx: Any, a: Any, b: Any) -> Any:
    """Return the greater in each lane; no lane may hold NaN."""
    return FLOATS(FLOATS, FLOATS), lambda context, builder, sig, args: builder.select(
        builder.fcmp_ordered(">", *args), *args
    )


@_operation
def at_most(typingctx: Any, a: Any, b: Any) -> Any:
    """Return a mask, one bit a lane, of where a <= b."""
    return types.int64(FLOATS, FLOATS), lambda context, builder, sig, args: _mask(
        builder, builder.fcmp_ordered("<=", *args)
    )


@_operation
def choose(typingctx: Any, mask: Any, a: Any, b: Any) -> Any:
    """Return a where the mask has a one, else b."""
    return FLOATS(types.int64, FLOATS, FLOATS), lambda context, builder, sig, args: builder.select(
        _bits(builder, args[0]), args[1], args[2]
    )


@_operation
def size_of(typingctx: Any, value: Any) -> Any:
    """Return each lane without its sign."""
    name = f"llvm.fabs.v{value.kind.count}f{64 if value is VECTOR else 32}"
    return value(value), lambda context, builder, sig, args: _called(builder, name, args[0].type, *args)


@_operation
def not_less(typingctx: Any, a: Any, b: Any) -> Any:
    """Return a mask, one bit a lane, of where a < b does not hold; so where either is NaN."""
    return types.int64(FLOATS, FLOATS), lambda context, builder, sig, args: _mask(
        builder, builder.fcmp_unordered(">=", *args)
    )


@_operation
def negative(typingctx: Any, value: Any) -> Any:
    """Return each lane with its sign changed."""
    return value(value), lambda context, builder, sig, args: builder.fneg(args[0])


@_operation
def turned(typingctx: Any, value: Any, by: Any) -> Any:
    """Return sixteen floats, each with its sign changed where that of `by` is negative."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        bits, sign = (builder.bitcast(value, _INTEGERS) for value in args)
        sign = builder.and_(sign, ir.Constant(_INTEGERS, [-(2**31)] * LANES))
        return builder.bitcast(builder.xor(bits, sign), _FLOATS)

    return FLOATS(FLOATS, FLOATS), code


@_operation
def fused(typingctx: Any, a: Any, b: Any, c: Any) -> Any:
    """Return a b + c, rounded once where the machine is known to do that at once."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        if VECTORS == "avx512":
            return _called(builder, "llvm.fma.v16f32", _FLOATS, *args)
        return builder.fadd(builder.fmul(args[0], args[1]), args[2])

    return FLOATS(FLOATS, FLOATS, FLOATS), code


@_operation
def inverse(typingctx: Any, value: Any) -> Any:
    """Return one over each lane, good to three roundings; NaN may stand for infinity."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        ones = ir.Constant(_FLOATS, [1.0] * LANES)
        if VECTORS != "avx512":
            return builder.fdiv(ones, args[0])
        kind = ir.FunctionType(_FLOATS, [_FLOATS, _FLOATS, _MASK])
        estimate = cgutils.get_or_insert_function(builder.module, kind, "llvm.x86.avx512.rcp14.ps.512")
        rough = builder.call(estimate, [args[0], args[0], ir.Constant(_MASK, -1)])
        # One step of Newton's method doubles the fourteen digits; a division takes longer.
        rest = _called(builder, "llvm.fma.v16f32", _FLOATS, builder.fneg(args[0]), rough, ones)
        return _called(builder, "llvm.fma.v16f32", _FLOATS, rough, rest, rough)

    return FLOATS(FLOATS), code


@_operation
def load_order(typingctx: Any, array: Any, at: Any) -> Any:
    """Return what `permute` takes of a word of a contiguous array of int64, see `Tree`.

    Only the lowest four bits of each lane are meant.
    """

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        halves = builder.bitcast(
            _splat(builder, builder.load(_pointer(context, builder, sig.args[0], *args)), _HALVES), _INTEGERS
        )
        return builder.lshr(halves, ir.Constant(_INTEGERS, [4 * (lane // 2) for lane in range(LANES)]))

    return INTEGERS(array, types.int64), code


@_operation
def bit_at(typingctx: Any, place: Any) -> Any:
    """Return a mask with a one at a place from 0 to 15, and none for any other place."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        # Beyond the mask by an unsigned minimum, without a branch.
        kind = ir.FunctionType(_WORD, [_WORD, _WORD])
        minimum = cgutils.get_or_insert_function(builder.module, kind, "llvm.umin.i64")
        place = builder.call(minimum, [args[0], ir.Constant(_WORD, LANES)])
        return builder.and_(builder.shl(ir.Constant(_WORD, 1), place), ir.Constant(_WORD, (1 << LANES) - 1))

    return types.int64(types.int64), code


@_operation
def permute(typingctx: Any, value: Any, order: Any) -> Any:
    """Return the lanes that the low four bits of `order` name."""
    name = f"llvm.x86.avx512.permvar.{'sf' if value is FLOATS else 'si'}.512"
    return value(value, INTEGERS), lambda context, builder, sig, args: _called(builder, name, args[0].type, *args)


@_operation
def compress(typingctx: Any, value: Any, mask: Any) -> Any:
    """Return the lanes where the mask has a one, moved together to the low end."""
    name = f"llvm.experimental.vector.compress.v16{'f32' if value is FLOATS else 'i32'}"

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        rest = ir.Constant(args[0].type, ir.Undefined)
        return _called(builder, name, args[0].type, args[0], _bits(builder, args[1]), rest)

    return value(value, types.int64), code


@_operation
def prefetch(typingctx: Any, array: Any, at: Any) -> Any:
    """Ask for the line of memory of an element of a contiguous array, counted over all its axes, ahead of its use."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        word = ir.IntType(32)
        pointer = builder.bitcast(_pointer(context, builder, sig.args[0], *args), ir.IntType(8).as_pointer())
        kind = ir.FunctionType(ir.VoidType(), [pointer.type, word, word, word])
        asked = cgutils.get_or_insert_function(builder.module, kind, "llvm.prefetch.p0")
        builder.call(asked, [pointer, word(0), word(3), word(1)])
        return context.get_dummy_value()

    return types.void(array, types.int64), code


@_operation
def ones(typingctx: Any, mask: Any) -> Any:
    """Return how many bits of a mask are one."""
    return types.int64(types.int64), lambda context, builder, sig, args: builder.ctpop(args[0])


@_operation
def first_one(typingctx: Any, mask: Any) -> Any:
    """Return the place of the lowest bit that is one; some must be."""
    return types.int64(types.int64), lambda context, builder, sig, args: builder.cttz(
        args[0], ir.Constant(ir.IntType(1), 1)
    )


@_operation
def vector_at(typingctx: Any, array: Any, at: Any) -> Any:
    """Return three neighbours of a contiguous array of float64, from a flat index on; the fourth lane is zero."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        pointer = builder.bitcast(_pointer(context, builder, sig.args[0], *args), _FOUR.as_pointer())
        word, zeros = ir.IntType(32), ir.Constant(_FOUR, [0.0] * 4)
        kind = ir.FunctionType(_FOUR, [pointer.type, word, _THREE_OF_FOUR.type, _FOUR])
        masked = cgutils.get_or_insert_function(builder.module, kind, "llvm.masked.load.v4f64.p0")
        return builder.call(masked, [pointer, word(8), _THREE_OF_FOUR, zeros])

    return VECTOR(array, types.int64), code


@_operation
def spread(typingctx: Any, value: Any) -> Any:
    """Return a float64 or float32 in all lanes of a vector."""
    kind = VECTOR if value is types.float64 else SHORT_VECTOR
    return kind(value), lambda context, builder, sig, args: _splat(builder, args[0], kind.kind)


@_operation
def shortened(typingctx: Any, value: Any) -> Any:
    """Return a vector rounded to float32."""
    return SHORT_VECTOR(VECTOR), lambda context, builder, sig, args: builder.fptrunc(args[0], _SHORT_FOUR)


@_operation
def below_zero(typingctx: Any, value: Any) -> Any:
    """Return a mask, one bit an axis, of where a vector is below zero."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        bits = builder.fcmp_ordered("<", args[0], ir.Constant(args[0].type, [0.0] * 4))
        return builder.zext(builder.bitcast(bits, ir.IntType(4)), _WORD)

    return types.int64(value), code


@_operation
def any_greater(typingctx: Any, a: Any, b: Any) -> Any:
    """Return whether a > b in any lane."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        bits = builder.bitcast(builder.fcmp_ordered(">", *args), ir.IntType(4))
        return builder.icmp_unsigned("!=", bits, ir.Constant(ir.IntType(4), 0))

    return types.boolean(a, b), code


@_operation
def signed_inverse(typingctx: Any, value: Any, least: Any) -> Any:
    """Return one over each lane, which counts as `least` away from zero where it is nearer to it."""

    def code(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        value, least = args[0], _splat(builder, args[1], _SHORT_FOUR)
        size = _called(builder, "llvm.fabs.v4f32", _SHORT_FOUR, value)
        size = builder.select(builder.fcmp_ordered(">", size, least), size, least)
        below = builder.fcmp_ordered("<", value, ir.Constant(_SHORT_FOUR, [0.0] * 4))
        return builder.fdiv(ir.Constant(_SHORT_FOUR, [1.0] * 4), builder.select(below, builder.fneg(size), size))

    return SHORT_VECTOR(SHORT_VECTOR, types.float32), code
