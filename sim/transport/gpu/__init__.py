"""The same kernels on a graphics card, by numba-cuda; imported only when a card is asked for."""
