"""Whether there is a graphics card that kernels can run on."""

from importlib.util import find_spec

from sim.transport.gpu.target import SIMULATED, cuda


def why_no_card() -> str | None:
    """Return what is missing and what to do about it, in one line; None if a card can be used."""
    if SIMULATED:
        return None
    if find_spec("numba_cuda") is None:
        return "the package numba-cuda is not installed; install it with: pip install 'vivray[gpu]'"

    try:
        cuda.current_context()
    except cuda.cudadrv.error.CudaSupportError:
        return "no NVIDIA card with a driver was found; install the driver, so that nvidia-smi lists the card"
    if not cuda.is_available():
        return "CUDA's compiler library is not installed; install it with: pip install 'vivray[gpu]'"
    return None
