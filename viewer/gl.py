"""Whether this machine can draw: asked of a child process, since VTK without a driver ends its process at once.

The package calls `prepare` before it imports pyvista anywhere.
"""

import os
import subprocess
import sys

WINDOWLESS = "vtkEGLRenderWindow"
_CHOICE = "VTK_DEFAULT_OPENGL_WINDOW"
_PATIENCE_S = 120.0
_NO_GL = "nothing here can draw: no OpenGL driver was found"
_LINUX = "; install the packages libegl1 and libgl1-mesa-dri (names in Debian and Ubuntu), then try again"
_ELSEWHERE = "; install or update the graphics driver, then try again"

# Draws one sphere, then says which kind of window did it. VTK alone: it is there sooner than pyvista.
_PROBE = """
import vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkFiltersSources import vtkSphereSource
from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper, vtkRenderer, vtkRenderWindow
sphere, mapper, actor = vtkSphereSource(), vtkPolyDataMapper(), vtkActor()
renderer, window = vtkRenderer(), vtkRenderWindow()
mapper.SetInputConnection(sphere.GetOutputPort())
actor.SetMapper(mapper)
renderer.AddActor(actor)
window.SetOffScreenRendering(1)
window.SetSize(16, 16)
window.AddRenderer(renderer)
window.Render()
print(window.GetClassName())
"""


class NoGLError(RuntimeError):
    """A machine that cannot draw; one line that says what to install."""


def prepare() -> None:
    """Choose drawing without a display where there is none; a choice made from outside stays."""
    if not may_have_display():
        os.environ.setdefault(_CHOICE, WINDOWLESS)


def may_have_display() -> bool:
    """Return whether a display is named; on systems other than Linux and its kin there always is one."""
    return sys.platform in ("win32", "darwin") or bool(os.environ.get("DISPLAY"))


def require_gl() -> str:
    """Return the kind of window that drawing works with, as VTK calls it.

    Raises
    ------
    NoGLError
        If a child process that draws a sphere does not live to tell.
    """
    try:
        child = subprocess.run(
            [sys.executable, "-c", _PROBE], capture_output=True, text=True, timeout=_PATIENCE_S, check=False
        )
    except subprocess.TimeoutExpired:
        raise NoGLError(f"{_NO_GL} that answers within {_PATIENCE_S:g} s") from None
    if child.returncode != 0:
        raise NoGLError(_NO_GL + (_LINUX if sys.platform.startswith("linux") else _ELSEWHERE))
    return child.stdout.split()[-1]


def has_window(kind: str) -> bool:
    """Return whether a kind of window, see `require_gl`, can stand on a display: a display may be named and dead."""
    return may_have_display() and kind != WINDOWLESS and "OSOpenGL" not in kind
