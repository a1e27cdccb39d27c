"""Photon transport in compiled kernels; knows arrays and numbers only."""
