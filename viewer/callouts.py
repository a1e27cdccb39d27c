"""Labels tied to places in a picture, put where they cover neither each other nor the places that they tell of."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pyvista as pv
from vtkmodules.vtkRenderingCore import vtkTextActor

from sim.tally.result import FloatArray
from viewer.cameras import Camera
from viewer.flat import INK, PAPER, add_dot, add_line, add_text

_RADII = (3.5, 5.5, 8.0, 11.0, 15.0, 20.0, 26.0)  # heights of the type, from a place to the middle of its label
_ANGLES = np.arange(16) * math.pi / 8.0
_WIDE = 0.58  # width of an average letter in heights of the type, on the safe side
_LINE = 1.3


@dataclass(frozen=True)
class Callout:
    """A label.

    Attributes
    ----------
    at : (float, float, float) [m]
    text : str
    bold : bool
    pinned : bool
        Whether a dot marks the place itself.
    """

    at: tuple[float, float, float]
    text: str
    bold: bool = False
    pinned: bool = False


@dataclass(frozen=True)
class Box:
    """A rectangle in a picture [px]."""

    left: float
    low: float
    right: float
    high: float

    def overlap(self, other: "Box", gap: float = 0.0) -> float:
        """Return the area that two rectangles share, the other one grown by a gap on all sides [px2]."""
        width = min(self.right, other.right + gap) - max(self.left, other.left - gap)
        height = min(self.high, other.high + gap) - max(self.low, other.low - gap)
        return max(0.0, width) * max(0.0, height)

    def outside(self, frame: "Box") -> float:
        """Return how far it sticks out of a frame [px]."""
        across = max(0.0, frame.left - self.left) + max(0.0, self.right - frame.right)
        return across + max(0.0, frame.low - self.low) + max(0.0, self.high - frame.high)

    @property
    def middle(self) -> tuple[float, float]:
        """Its middle."""
        return 0.5 * (self.left + self.right), 0.5 * (self.low + self.high)


def text_size(text: str, letters: float) -> tuple[float, float]:
    """Return width and height [px] of text in type of a height [px]."""
    lines = text.splitlines()
    return max(map(len, lines)) * _WIDE * letters + letters, (len(lines) * _LINE + 0.3) * letters


def laid_out(
    anchors: FloatArray, sizes: Sequence[tuple[float, float]], frame: Box, letters: float, taken: Sequence[Box] = ()
) -> list[Box]:
    """Return where labels go, the first first.

    Parameters
    ----------
    anchors : (n, 2) float [px]
        The places that they tell of.
    sizes : sequence of (float, float) [px]
    frame : Box
        All labels lie in it.
    letters : float [px]
        Height of the type.
    taken : sequence of Box
        What no label may cover, as far as that can be had.
    """
    layout = _Layout(anchors, frame, letters, tuple(taken))
    for anchor, size in zip(anchors, sizes, strict=True):
        layout.put(anchor, layout.best(anchor, size))
    return layout.placed


def with_room(
    anchors: FloatArray, sizes: Sequence[tuple[float, float]], frame: Box, letters: float, taken: Sequence[Box] = ()
) -> dict[int, Box]:
    """Return where labels go that find room clear of those before them, of what is taken, and within the frame.

    Parameters are those of `laid_out`.
    """
    layout = _Layout(anchors, frame, letters, tuple(taken))
    found = {}
    for index, (anchor, size) in enumerate(zip(anchors, sizes, strict=True)):
        box = layout.best(anchor, size)
        if box.outside(frame) == 0.0 and not any(box.overlap(other) for other in (*layout.placed, *taken)):
            layout.put(anchor, box)
            found[index] = box
    return found


class _Layout:
    """Labels that are placed one after the other."""

    def __init__(self, anchors: FloatArray, frame: Box, letters: float, taken: tuple[Box, ...]) -> None:
        self.placed: list[Box] = []
        self._lines: list[tuple[FloatArray, FloatArray]] = []
        self._dots = [Box(x - letters, y - letters, x + letters, y + letters) for x, y in anchors]
        self._frame, self._letters, self._taken = frame, letters, taken

    def best(self, anchor: FloatArray, size: tuple[float, float]) -> Box:
        """Return where a label of a size [px] is best put now."""
        candidates = _candidates(anchor, size, self._letters)
        tangles = _tangles(candidates, anchor, self.placed, self._lines, self._letters)
        costs = [
            _cost(box, anchor, [*self.placed, *self._taken], self._dots, self._frame) + tangle
            for box, tangle in zip(candidates, tangles, strict=True)
        ]
        return candidates[int(np.argmin(costs))]

    def put(self, anchor: FloatArray, box: Box) -> None:
        """Put a label there."""
        self.placed.append(box)
        self._lines.append((np.asarray(anchor, dtype=np.float64), np.array(box.middle)))


def _tangles(
    boxes: Sequence[Box],
    anchor: FloatArray,
    placed: Sequence[Box],
    lines: Sequence[tuple[FloatArray, FloatArray]],
    letters: float,
) -> FloatArray:
    """Return what it costs, box by box, that lines run behind labels or cross each other, (n,)."""
    own = np.stack([np.tile(np.asarray(anchor, dtype=np.float64), (len(boxes), 1)), [box.middle for box in boxes]], 1)
    behind, crossings = np.zeros(len(boxes)), np.zeros(len(boxes))
    for other in placed:
        behind += _run_behind(own, [other])
    for start, end in lines:
        behind += _run_behind(np.stack([start, end])[None], boxes)
        crossings += _cross(own, start, end)
    return 12.0 * letters * behind + 8.0 * letters * crossings


def _run_behind(lines: FloatArray, boxes: Sequence[Box]) -> npt.NDArray[np.bool_]:
    """Return whether lines, (n or 1, 2 ends, 2), pass through boxes, (n or 1), looked at in a row of points along."""
    points = lines[:, :1] + np.linspace(0.0, 1.0, 40)[:, None] * (lines[:, 1:] - lines[:, :1])
    x, y = points[..., 0], points[..., 1]
    left, low, right, high = np.array([(box.left, box.low, box.right, box.high) for box in boxes]).T[:, :, None]
    within: npt.NDArray[np.bool_] = ((x > left) & (x < right) & (y > low) & (y < high)).any(axis=1)
    return within


def _cross(lines: FloatArray, start: FloatArray, end: FloatArray) -> npt.NDArray[np.bool_]:
    """Return which lines, (n, 2 ends, 2), cross one from a start to an end."""

    def side(a: FloatArray, b: FloatArray, c: FloatArray) -> FloatArray:
        turn: FloatArray = (b[..., 0] - a[..., 0]) * (c[..., 1] - a[..., 1])
        return turn - (b[..., 1] - a[..., 1]) * (c[..., 0] - a[..., 0])

    first, last = lines[:, 0], lines[:, 1]
    apart = side(first, last, start) * side(first, last, end) < 0.0
    crossed: npt.NDArray[np.bool_] = apart & (side(start, end, first) * side(start, end, last) < 0.0)
    return crossed


def _candidates(anchor: FloatArray, size: tuple[float, float], letters: float) -> list[Box]:
    boxes = []
    for radius in _RADII:
        for angle in _ANGLES:
            # A wide label goes sideways by half its width more than up, so that its nearest edge is as far.
            x = anchor[0] + math.cos(angle) * (radius * letters + 0.5 * size[0])
            y = anchor[1] + math.sin(angle) * (radius * letters + 0.5 * size[1])
            boxes.append(Box(x - 0.5 * size[0], y - 0.5 * size[1], x + 0.5 * size[0], y + 0.5 * size[1]))
    return boxes


def _cost(box: Box, anchor: FloatArray, others: Sequence[Box], dots: Sequence[Box], frame: Box) -> float:
    size = box.high - box.low
    covered = sum(box.overlap(other, 0.25 * size) for other in others)
    hidden = sum(box.overlap(dot) for dot in dots)
    far = math.dist(box.middle, (float(anchor[0]), float(anchor[1])))
    below = 0.4 * max(0.0, float(anchor[1]) - box.middle[1])  # above reads better than below
    return 1e4 * box.outside(frame) + 20.0 * covered + 5.0 * hidden + far + below


@dataclass(frozen=True)
class Page:
    """A picture that labels are put into.

    Attributes
    ----------
    size : (int, int) [px]
    letters : int [px]
        Height of the type.
    taken : tuple of Box
        What else is written in it.
    """

    size: tuple[int, int]
    letters: int
    taken: tuple[Box, ...] = ()

    @property
    def frame(self) -> Box:
        """Where labels may lie: below the title, above the caution."""
        width, height = self.size
        return Box(0.02 * width, 0.02 * height + 3.2 * self.letters, 0.98 * width, 0.965 * height - 2.0 * self.letters)


def _seen(callouts: Sequence[Callout], camera: Camera, page: Page) -> tuple[FloatArray, list[tuple[float, float]]]:
    """Return where the places of callouts are seen, (n, 2), and how large their labels are [px]."""
    points = np.array([item.at for item in callouts])
    anchors: FloatArray = camera.project(points, page.size[0] / page.size[1]) * np.array(page.size)
    return anchors, [text_size(item.text, page.letters) for item in callouts]


def add_roomy_callouts(renderer: pv.Renderer, callouts: Sequence[Callout], camera: Camera, page: Page) -> int:
    """Draw the callouts, the most pressing first, whose labels cover nothing; return how many found no room."""
    if not callouts:
        return 0
    found = with_room(*_seen(callouts, camera, page), page.frame, page.letters, page.taken)
    _draw(renderer, [callouts[index] for index in found], list(found.values()), camera, page)
    return len(callouts) - len(found)


def add_callouts(renderer: pv.Renderer, callouts: Sequence[Callout], camera: Camera, page: Page) -> list[vtkTextActor]:
    """Draw labels and their lines over a picture; they keep to their places in space when the model is turned.

    Parameters
    ----------
    renderer : pyvista.Renderer
    callouts : sequence of Callout
        The most pressing first.
    camera : Camera
        That takes the picture.
    page : Page

    Returns
    -------
    list of vtkTextActor
        The labels, in the order given.
    """
    if not callouts:
        return []
    boxes = laid_out(*_seen(callouts, camera, page), page.frame, page.letters, page.taken)
    return _draw(renderer, callouts, boxes, camera, page)


def _draw(
    renderer: pv.Renderer, callouts: Sequence[Callout], boxes: Sequence[Box], camera: Camera, page: Page
) -> list[vtkTextActor]:
    points = np.array([item.at for item in callouts]).reshape(-1, 3)
    anchors = camera.project(points, page.size[0] / page.size[1]) * np.array(page.size)
    middles = [_at(camera, page, point, anchor, box) for point, anchor, box in zip(points, anchors, boxes, strict=True)]
    for width, colour in ((4.0, PAPER), (1.5, INK)):
        for at, middle in zip(points, middles, strict=True):
            add_line(renderer, [at, middle], colour, width)
    actors = []
    for item, at, middle in reversed(list(zip(callouts, points, middles, strict=True))):
        if item.pinned:
            add_dot(renderer, at, PAPER, 11.0)
            add_dot(renderer, at, INK, 7.0)
        text, letters = padded(item.text), page.letters
        label = add_text(renderer, text, middle, height=letters, bold=item.bold, across=0.5, up=0.5, boxed=True)
        actors.append(label)
    return actors[::-1]


def padded(text: str) -> str:
    """Return text with room at both ends of each line, as it stands in a frame."""
    return "\n".join(f" {line} " for line in text.splitlines())


def _at(camera: Camera, page: Page, point: FloatArray, anchor: FloatArray, box: Box) -> FloatArray:
    """Return the point in space (3,) [m], as far away as `point`, that is seen at the middle of a box."""
    depth = float((point - camera.eye) @ camera.forward)
    pixel = camera.length_of_pixel(page.size[1]) * depth / camera.distance
    x, y = box.middle
    place: FloatArray = point + pixel * ((x - anchor[0]) * camera.right + (y - anchor[1]) * camera.up)
    return place
