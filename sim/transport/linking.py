"""How functions become kernels: all that a kernel calls is optimised once, together with the kernel.

numba gives each function a module of its own, into which it copies the modules of all that the function calls, and
then optimises it and makes machine code of it: a function at the bottom goes through that once for each floor above
it. No function of ours but kernels is called from outside, so here a function becomes a module of its own code alone
(`Part`). A kernel (`Whole`) gathers the modules of all below it, hides every function but its own entry from the
outside, so that LLVM drops arguments that nobody reads, and only then optimises and makes machine code.

This rests on how numba 0.68 is built inside; `pyproject.toml` holds it to that.
"""

from typing import Any

from llvmlite import binding
from numba.core import typed_passes, untyped_passes
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, DefaultPassBuilder, Flags
from numba.core.compiler_machinery import register_pass
from numba.core.typed_passes import NativeLowering


class Part(JITCodeLibrary):
    """The code of a function that kernels take up: what it calls is not in it, and no machine code is made of it."""

    def finalize(self) -> None:
        """Leave the code as it is."""
        self._raise_if_finalized()
        self._finalized = True

    @property
    def called(self) -> list[JITCodeLibrary]:
        """What the function calls."""
        return list(self._linking_libraries)


class Whole(JITCodeLibrary):
    """The code of a kernel with all that it calls."""

    def finalize(self) -> None:
        """Take up all that is called, directly or not, and make machine code."""
        found: dict[JITCodeLibrary, None] = {}
        _gather(self._linking_libraries, found)
        # LLVM takes from a module what it knows to be called: callers come before what they call.
        self._linking_libraries = list(reversed(found))
        super().finalize()

    def _optimize_final_module(self) -> None:
        for function in self._final_module.functions:
            if not function.is_declaration and function.linkage == binding.Linkage.linkonce_odr:
                function.linkage = "internal"
        super()._optimize_final_module()


def _gather(libraries: list[JITCodeLibrary], found: dict[JITCodeLibrary, None]) -> None:
    """Add libraries and all that these call, what is called before its callers."""
    for library in libraries:
        if library in found:
            continue
        if isinstance(library, Part):
            _gather(library.called, found)
        found[library] = None


@register_pass(mutates_CFG=True, analysis_only=False)
class _LowerPart(NativeLowering):
    """numba's step from types to code, for a function that kernels call."""

    _name = "lower part of a kernel"

    def run_pass(self, state: Any) -> bool:
        state.library = Part(state.targetctx.codegen(), state.func_id.func_qualname)
        state.flags.no_compile = True
        super().run_pass(state)
        lowered, entry = state["cr"], _Entry()
        state.targetctx.insert_user_function(entry, lowered.fndesc, [state.library])
        state["cr"] = lowered._replace(cfunc=entry)
        return True


class _Entry:
    """Stands where numba has the address of a function, by which it finds the function's code."""


@register_pass(mutates_CFG=True, analysis_only=False)
class _LowerWhole(NativeLowering):
    """numba's step from types to code, for a kernel."""

    _name = "lower kernel"

    def run_pass(self, state: Any) -> bool:
        state.library = Whole(state.targetctx.codegen(), state.func_id.func_qualname)
        state.library.enable_object_caching()
        super().run_pass(state)
        return True


class _Flags(Flags):
    """Options of a function; they are equal where numba has all that the function calls inherit the same.

    numba finds by them what it has compiled before, a hundred thousand times; its own comparison reads thirty options.
    """

    def _inherited(self) -> tuple[object, ...]:
        return self.nrt, self.error_model, self.fastmath, self.forceinline

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Flags) and self._inherited() == other._inherited()

    def __hash__(self) -> int:
        return hash((self.nrt, self.error_model, self.forceinline))


_SPARED = {
    untyped_passes.WithLifting,
    untyped_passes.InlineClosureLikes,
    untyped_passes.MakeFunctionToJitFunction,
    untyped_passes.InlineInlinables,
    untyped_passes.FindLiterallyCalls,
    untyped_passes.LiteralUnroll,
    typed_passes.NopythonRewrites,
}
"""Passes for blocks of `with`, functions in functions, sums of whole arrays and the like, which kernels do without."""


class _Compiler(CompilerBase):
    lowering: type[NativeLowering]

    def __init__(
        self, typing: Any, target: Any, library: Any, args: Any, returns: Any, flags: Any, locals_: Any
    ) -> None:
        super().__init__(typing, target, library, args, returns, _Flags(flags), locals_)

    def define_pipelines(self) -> list[Any]:
        """Return numba's passes, but for the one that makes code and those for what kernels do not use."""
        manager = DefaultPassBuilder.define_nopython_pipeline(self.state)
        kept = [(step, why) for step, why in manager.passes if step not in _SPARED]
        manager.passes = [(self.lowering if step is NativeLowering else step, why) for step, why in kept]
        manager.finalize()
        return [manager]


class PartCompiler(_Compiler):
    """What compiles a function that kernels call."""

    lowering = _LowerPart


class WholeCompiler(_Compiler):
    """What compiles a kernel."""

    lowering = _LowerWhole
