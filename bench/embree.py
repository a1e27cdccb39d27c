"""Embree itself, one ray a call in its fast mode, driven by a compiled loop: the library that comes with embreex.

Embree's own interface (rtcIntersect1, build quality HIGH, no ROBUST flag), called by address from a loop that numba
compiles, so that no Python stands between the rays.
"""

import ctypes
import importlib.util
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

# Values of Embree's header rtcore_common.h and its kin.
QUALITY_HIGH, ROBUST = 2, 4
TRIANGLES, INDEX_BUFFER, VERTEX_BUFFER = 0, 0, 1
UINT3, FLOAT3 = 0x5003, 0x9003
RAY_HIT_WORDS = 24
NO_HIT = 0xFFFFFFFF


def _library() -> ctypes.CDLL:
    found = importlib.util.find_spec("embreex")
    assert found is not None, "embreex is not installed"
    assert found.origin is not None
    folder = Path(found.origin).parent
    return ctypes.CDLL(str(next((folder.parent / f"{folder.name}.libs").glob("libembree4*"))))


_LIBRARY = _library()
_Pointer, _Word = ctypes.c_void_p, ctypes.c_uint


def _function(name: str, result: Any, *arguments: Any) -> Callable[..., Any]:  # noqa: ANN401  # types of ctypes
    function = getattr(_LIBRARY, name)
    function.restype, function.argtypes = result, arguments
    return function


_new_device = _function("rtcNewDevice", _Pointer, ctypes.c_char_p)
_new_scene = _function("rtcNewScene", _Pointer, _Pointer)
_set_scene_quality = _function("rtcSetSceneBuildQuality", None, _Pointer, ctypes.c_int)
_set_scene_flags = _function("rtcSetSceneFlags", None, _Pointer, ctypes.c_int)
_new_geometry = _function("rtcNewGeometry", _Pointer, _Pointer, ctypes.c_int)
_set_geometry_quality = _function("rtcSetGeometryBuildQuality", None, _Pointer, ctypes.c_int)
_new_buffer = _function(
    "rtcSetNewGeometryBuffer",
    _Pointer,
    *(_Pointer, ctypes.c_int, _Word, ctypes.c_int, ctypes.c_size_t, ctypes.c_size_t),
)
_commit_geometry = _function("rtcCommitGeometry", None, _Pointer)
_attach_geometry = _function("rtcAttachGeometry", _Word, _Pointer, _Pointer)
_commit_scene = _function("rtcCommitScene", None, _Pointer)
_intersect = _function("rtcIntersect1", None, _Pointer, _Pointer, _Pointer)


class Embree:
    """A scene of triangles in Embree.

    Parameters
    ----------
    corners : (n, 3 corners, 3) float
    robust : bool
        Whether to set the flag that keeps rays from slipping through edges; embreex does.
    """

    def __init__(self, corners: FloatArray, robust: bool = False) -> None:
        device = _new_device(b"threads=1")
        self._scene = _new_scene(device)
        _set_scene_quality(self._scene, QUALITY_HIGH)
        _set_scene_flags(self._scene, ROBUST if robust else 0)
        geometry = _new_geometry(device, TRIANGLES)
        _set_geometry_quality(geometry, QUALITY_HIGH)
        count = len(corners)
        vertices = _new_buffer(geometry, VERTEX_BUFFER, 0, FLOAT3, 12, 3 * count)
        faces = _new_buffer(geometry, INDEX_BUFFER, 0, UINT3, 12, count)
        _seen(vertices, ctypes.c_float, (3 * count, 3))[:] = corners.reshape(-1, 3)
        _seen(faces, _Word, (count, 3))[:] = np.arange(3 * count).reshape(count, 3)
        _commit_geometry(geometry)
        _attach_geometry(self._scene, geometry)
        _commit_scene(self._scene)
        memory = np.zeros(RAY_HIT_WORDS + 16, dtype=np.float32)
        start = -memory.ctypes.data % 64 // 4
        self._ray = memory[start : start + RAY_HIT_WORDS]

    def hits(
        self,
        origins: npt.NDArray[np.float32],
        directions: npt.NDArray[np.float32],
        distance: npt.NDArray[np.float32],
        triangle: npt.NDArray[np.uint32],
    ) -> None:
        """Fill distance and triangle of the first hit of many rays; NO_HIT where there is none."""
        ray = self._ray
        _loop(self._scene, ray.ctypes.data, ray, ray.view(np.uint32), origins, directions, distance, triangle)


def _seen(address: int, kind: Any, shape: tuple[int, int]) -> npt.NDArray[Any]:  # noqa: ANN401  # types of ctypes
    return np.ctypeslib.as_array(ctypes.cast(address, ctypes.POINTER(kind)), shape)


@numba.njit(error_model="numpy")
def _loop(  # noqa: PLR0913, PLR0917  # compiled functions take arrays, by position
    scene: int,
    address: int,
    floats: npt.NDArray[np.float32],
    words: npt.NDArray[np.uint32],
    origins: npt.NDArray[np.float32],
    directions: npt.NDArray[np.float32],
    distance: npt.NDArray[np.float32],
    triangle: npt.NDArray[np.uint32],
) -> None:
    """Ask for every ray; the layout is that of Embree's RTCRayHit."""
    for row in range(len(origins)):
        for axis in range(3):
            floats[axis] = origins[row, axis]
            floats[4 + axis] = directions[row, axis]
        floats[3], floats[7], floats[8] = 0.0, 0.0, np.inf
        words[9], words[10], words[11] = NO_HIT, 0, 0
        words[16], words[17], words[18] = NO_HIT, NO_HIT, NO_HIT
        _intersect(scene, address, np.uint64(0))
        distance[row] = floats[8]
        triangle[row] = words[17]
