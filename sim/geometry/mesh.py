"""Triangle meshes as two arrays, and the few operations that everything built of them needs."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Mesh:
    """A triangle mesh; a triangle's front is the side from which its corners run anticlockwise.

    Attributes
    ----------
    vertices : (n, 3) float [m]
    faces : (m, 3) int
        Rows of `vertices`.
    """

    vertices: FloatArray
    faces: IntArray

    @property
    def corners(self) -> FloatArray:
        """Corner positions, (m, 3 corners, 3) [m]."""
        # Half the time of an index.
        corners: FloatArray = self.vertices.take(self.faces, axis=0)
        return corners

    @cached_property
    def area_vectors(self) -> FloatArray:
        """Normal times area of each triangle, (m, 3) [m2]; kept, and so not to be written to."""
        first, second, third = (self.vertices.take(corner, axis=0) for corner in self.faces.T)
        (x, y, z), (a, b, c) = (second - first).T, (third - first).T
        # By columns, since `numpy.cross` takes twice as long.
        vectors = 0.5 * np.stack([y * c - z * b, z * a - x * c, x * b - y * a], axis=1)
        vectors.flags.writeable = False
        return vectors

    @cached_property
    def areas(self) -> FloatArray:
        """Area of each triangle, (m,) [m2]; kept, and so not to be written to."""
        areas: FloatArray = np.linalg.norm(self.area_vectors, axis=1)
        areas.flags.writeable = False
        return areas

    @cached_property
    def side_lengths(self) -> FloatArray:
        """Length of the side that ends at each corner of each triangle, (m, 3) [m]; kept, so not to be written to."""
        # By columns, since sums over three numbers at a time take several times longer.
        squares = np.zeros((3, len(self.faces)))
        for along in self.vertices.T:
            one, two, three = (along[corner] for corner in self.faces.T)
            squares += np.square([one - three, two - one, three - two])
        lengths: FloatArray = np.sqrt(squares).T
        lengths.flags.writeable = False
        return lengths

    @property
    def centres(self) -> FloatArray:
        """Mean of the corners of each triangle, (m, 3) [m]."""
        first, second, third = (self.vertices.take(corner, axis=0) for corner in self.faces.T)
        centres: FloatArray = (first + second + third) / 3.0
        return centres

    @property
    def perimeters(self) -> FloatArray:
        """Length of the outline of each triangle, (m,) [m]."""
        one, two, three = self.side_lengths.T
        lengths: FloatArray = one + two + three
        return lengths

    @property
    def normals(self) -> FloatArray:
        """Unit normal of each triangle's front, (m, 3); zero for a degenerate triangle."""
        areas = self.areas[:, None]
        return np.divide(self.area_vectors, areas, out=np.zeros_like(self.area_vectors), where=areas > 0.0)

    @cached_property
    def bounds(self) -> FloatArray:
        """Lowest and highest corner of the box around the mesh, (2, 3) [m]; kept, and so not to be written to."""
        bounds = np.stack([self.vertices.min(axis=0), self.vertices.max(axis=0)])
        bounds.flags.writeable = False
        return bounds

    def moved(self, rotation: FloatArray, shift: FloatArray) -> "Mesh":
        """Return the mesh rotated by a (3, 3) matrix, then shifted by a (3,) vector [m]."""
        return Mesh(self.vertices @ rotation.T + shift, self.faces)

    def flipped(self) -> "Mesh":
        """Return the mesh with front and back exchanged."""
        return Mesh(self.vertices, self.faces[:, ::-1])


def joined(meshes: list[Mesh]) -> Mesh:
    """Return one mesh of all triangles, in the order given."""
    offsets = np.cumsum([0] + [len(mesh.vertices) for mesh in meshes])
    return Mesh(
        np.concatenate([mesh.vertices for mesh in meshes]),
        np.concatenate([mesh.faces + start for mesh, start in zip(meshes, offsets[:-1], strict=True)]),
    )


def frame_from_axis(axis: FloatArray) -> FloatArray:
    """Return a right-handed orthonormal frame whose third row is the unit axis, (3, 3).

    References
    ----------
    T. Duff et al., "Building an orthonormal basis, revisited", JCGT 6(1), 2017.
    """
    x, y, z = axis
    sign = 1.0 if z >= 0.0 else -1.0
    a = -1.0 / (sign + z)
    b = x * y * a
    return np.array([[1.0 + sign * x * x * a, sign * b, -sign * x], [b, sign + y * y * a, -y], [x, y, z]])
