"""``python -m sim`` is the command line ``vivray``."""

from sim.cli import main

main()
