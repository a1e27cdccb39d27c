"""Flat things over a picture, in shares of the picture or tied to points in space: text, lines, rectangles."""

import textwrap
from collections.abc import Sequence

import numpy as np
import pyvista as pv
from vtkmodules.vtkRenderingCore import vtkActor2D, vtkCoordinate, vtkPolyDataMapper2D, vtkTextActor

from sim.tally.result import FloatArray

INK = "#1d2b33"
QUIET = "#5b6b73"
PAPER = "#ffffff"
_LETTER = 0.53
"""Width of an average letter in heights of the type."""

Place = FloatArray | Sequence[float]


def wrapped(text: str, width: float, height: float, most: int) -> str:
    """Return text in lines that fit a width.

    Parameters
    ----------
    text : str
    width, height : float [px]
        Of the column, and of the type.
    most : int
        Lines; what goes beyond ends in three dots.
    """
    letters = max(8, int(width / (_LETTER * height)))
    lines = textwrap.wrap(text, letters, max_lines=most, placeholder=" ...")
    # As narrow as the same count of lines allows, so that no single word is left over for the last.
    while letters > 8 and len(narrower := textwrap.wrap(text, letters - 1)) <= len(lines):
        lines, letters = narrower, letters - 1
    return "\n".join(lines)


def add_text(  # noqa: PLR0913  # all but the first three have defaults and are keywords
    renderer: pv.Renderer,
    text: str,
    at: Place,
    *,
    height: int,
    colour: str = INK,
    bold: bool = False,
    across: float = 0.0,
    up: float = 0.0,
    boxed: bool = False,
) -> vtkTextActor:
    """Add text.

    Parameters
    ----------
    renderer : pyvista.Renderer
    text : str
    at : (2,) or (3,) float
        Shares of the renderer's picture from the left and from below, or a point in space [m].
    height : int [px]
        Of the type.
    across, up : float
        Which part of the text lies there: 0 its left or lower edge, 0.5 its middle, 1 its right or upper edge.
    boxed : bool
        Whether it stands on a white ground with a frame.
    """
    actor = vtkTextActor()
    actor.SetInput(text)
    style = actor.GetTextProperty()
    style.SetFontFamilyToArial()
    style.SetFontSize(height)
    style.SetBold(bold)
    style.SetColor(*pv.Color(colour).float_rgb)
    style.SetJustification(round(2 * across))
    style.SetVerticalJustification(round(2 * up))
    style.SetLineSpacing(1.15)
    if boxed:
        style.SetBackgroundColor(*pv.Color(PAPER).float_rgb)
        style.SetBackgroundOpacity(1.0)
        style.SetFrame(True)
        style.SetFrameColor(*pv.Color(colour).float_rgb)
    _tie(actor.GetPositionCoordinate(), at)
    renderer.AddViewProp(actor)
    return actor


def add_line(renderer: pv.Renderer, points: Sequence[Place], colour: str = INK, width: float = 1.0) -> None:
    """Add a line through places, over all else; see `add_text`."""
    ends = np.array([_three(point) for point in points])
    mesh = pv.PolyData(ends, lines=np.array([len(ends), *range(len(ends))]))
    actor = _flat_actor(mesh, in_space=len(points[0]) == 3)
    actor.GetProperty().SetColor(*pv.Color(colour).float_rgb)
    actor.GetProperty().SetLineWidth(width)
    renderer.AddViewProp(actor)


def add_dot(renderer: pv.Renderer, at: Place, colour: str, size: float) -> None:
    """Add a square dot of a size [px] at a place, over all else; see `add_text`."""
    actor = _flat_actor(pv.PolyData(np.array([_three(at)])), in_space=len(at) == 3)
    actor.GetProperty().SetColor(*pv.Color(colour).float_rgb)
    actor.GetProperty().SetPointSize(size)
    renderer.AddViewProp(actor)


def add_rectangles(renderer: pv.Renderer, corners: FloatArray, colours: FloatArray) -> None:
    """Add filled rectangles.

    Parameters
    ----------
    renderer : pyvista.Renderer
    corners : (n, 4) float
        Left, lower, right, upper edge of each, in shares of the renderer's picture.
    colours : (n, 3) float, 0 … 1
    """
    # Round each: lower left, lower right, upper right, upper left.
    points = corners[:, [[0, 1], [2, 1], [2, 3], [0, 3]]].reshape(-1, 2)
    faces = np.arange(len(points)).reshape(-1, 4).tolist()
    mesh = pv.PolyData.from_regular_faces(np.pad(points, ((0, 0), (0, 1))), faces)
    mesh.cell_data["colour"] = np.rint(255.0 * np.asarray(colours)).astype(np.uint8)
    renderer.AddViewProp(_flat_actor(mesh, in_space=False, coloured=True))


def _three(place: Place) -> tuple[float, float, float]:
    return float(place[0]), float(place[1]), float(place[2]) if len(place) == 3 else 0.0


def _tie(coordinate: vtkCoordinate, at: Place) -> None:
    if len(at) == 3:
        coordinate.SetCoordinateSystemToWorld()
    else:
        coordinate.SetCoordinateSystemToNormalizedViewport()
    coordinate.SetValue(*_three(at))


def _flat_actor(mesh: pv.PolyData, in_space: bool, coloured: bool = False) -> vtkActor2D:
    coordinate = vtkCoordinate()
    if in_space:
        coordinate.SetCoordinateSystemToWorld()
    else:
        coordinate.SetCoordinateSystemToNormalizedViewport()
    mapper = vtkPolyDataMapper2D()
    mapper.SetInputData(mesh)
    mapper.SetTransformCoordinate(coordinate)
    mapper.SetScalarVisibility(coloured)
    actor = vtkActor2D()
    actor.SetMapper(mapper)
    return actor
