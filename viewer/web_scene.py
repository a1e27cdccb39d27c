"""The model of a page: drawn once off the screen, then taken apart for the script that draws it in a browser."""

from collections.abc import Iterable
from typing import Any

import numpy as np
import pyvista as pv

from sim.analysis.selection import Selection
from viewer.bodies import add_bodies, add_edges
from viewer.cameras import camera_for
from viewer.flat import PAPER
from viewer.layers import ERROR, VALUE, Layer
from viewer.scale import COLOURS, Scale
from viewer.stage import points_of, room_of, stand

_SIZE = (900, 800)
ASPECT = _SIZE[0] / _SIZE[1]
"""Width over height of the picture that the camera is placed for."""


def fill_scene(plotter: pv.Plotter, shown: Selection, whole: Iterable[Layer], scale: Scale) -> pv.PolyData:
    """Add a result to a plotter of one renderer, all maps as one mesh, and return that mesh.

    Its cell data ``shown`` give the colours, and its actor is called ``maps``.

    Parameters
    ----------
    plotter : pyvista.Plotter
    shown : Selection
    whole : iterable of Layer
    scale : Scale
    """
    whole = list(whole)
    maps = [layer for layer in whole if layer.role == "map"]
    mesh: pv.PolyData = pv.PolyData().append_polydata(*(layer.mesh for layer in maps))
    mesh.cell_data["shown"] = np.asarray(mesh.cell_data[VALUE if shown.part == "value" else ERROR], dtype=np.float32)
    for key in [name for name in mesh.cell_data if name != "shown"]:
        del mesh.cell_data[key]
    maps_actor = plotter.add_mesh(
        mesh,
        scalars="shown",
        cmap=COLOURS,
        clim=(0.0, scale.ticks.top),
        lighting=False,
        culling="back",
        show_scalar_bar=False,
        name="maps",
    )
    add_bodies(plotter, whole)
    room = room_of(whole)
    if room is not None:
        add_edges(plotter, room)
    stand(plotter, camera_for(points_of(whole), "corner", ASPECT, (0.06, 0.06, 0.08, 0.08)))
    plotter.renderer.background_color = PAPER
    drawn: pv.PolyData = maps_actor.mapper.dataset
    return drawn


def drawn_scene(shown: Selection, whole: Iterable[Layer], scale: Scale) -> dict[str, Any]:
    """Return the model as the script of the page takes it: a tree of objects, and the arrays by their digest."""
    from trame_vtk.modules.vtk.serializers import (
        SynchronizationContext,
        extract_array_hash,
        initialize_serializers,
        reference_id,
        serialize,
    )

    plotter = pv.Plotter(off_screen=True, window_size=list(_SIZE))
    try:
        fill_scene(plotter, shown, whole, scale)
        plotter.show(auto_close=False)
        initialize_serializers()
        context = SynchronizationContext()
        context.set_ignore_last_dependencies(True)
        window, camera = plotter.render_window, plotter.camera
        scene = serialize(None, window, reference_id(window), context, 1)
        scene["extra"] = {
            "vtkRefId": reference_id(window),
            "centerOfRotation": camera.GetFocalPoint(),
            "camera": reference_id(camera),
        }
        arrays = {
            entry["hash"]: {**entry, "content": context.get_cached_data_array(entry["hash"], False)}
            for entry in extract_array_hash(scene)
        }
        return {"hashes": arrays, "scene": scene}
    finally:
        plotter.close()
