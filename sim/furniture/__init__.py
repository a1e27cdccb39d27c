"""Things in an enclosure: boxes, ledges, branches, hides, plates, plants, meshes."""
