"""Pictures of a result in three dimensions. Tracing needs none of this; nothing in sim imports it."""

from viewer.gl import prepare

prepare()  # before any module of this package imports pyvista
