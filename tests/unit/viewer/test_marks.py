"""What is marked in a picture points at the place that it tells of."""

from dataclasses import replace

import numpy as np

from sim.analysis.selection import Selection
from tests.support.synthetic_result import Patch, make_result, terrarium_patches, uniform
from viewer.marks import callouts_of, names_of, outline_of
from viewer.web_words import marks


def test_zones_over_surfaces_that_are_not_flat_are_pointed_at_where_they_are() -> None:
    detail = {"role": "passage", "mean": [1.0, 2.6], "max": 7.4, "share": None, "height_m": 0.03}
    branch = Patch("zone", "branch", (0.3, 0.2, 0.2), (0.4, 0, 0.1), (0, 0, 0), (0, 0), detail)
    result = make_result([*terrarium_patches(), branch], uniform(2.0))
    # Points have no rectangle: groups of them stand at the origin with edges of no length.
    nowhere = {"origin": (0.0, 0.0, 0.0), "edge_u": (0.0, 0.0, 0.0), "edge_v": (0.0, 0.0, 0.0)}
    groups = [replace(group, **nowhere) if group.name == "branch" else group for group in result.groups]
    shown = Selection(replace(result, groups=tuple(groups)))
    (group,) = (group for group in shown.result.of_kind("zone") if group.name == "branch")
    (told,) = (item for item in callouts_of(shown) if "branch:" in item.text)
    (named,) = (item for item in names_of(shown) if item.text.endswith(" branch"))
    (drawn,) = (item for item in marks(shown, None) if str(item["text"]).endswith(" branch"))
    for at in (told.at, named.at, drawn["at"]):
        assert 0.0 == np.abs(shown.result.centre[group.rows] - at).sum(axis=1).min()
        assert np.linalg.norm(np.array(at) - (0.5, 0.2, 0.25)) < 0.03
    assert [] == drawn["outline"]
    (flat,) = (item for item in callouts_of(shown) if " basking:" in item.text)
    (basking,) = (group for group in shown.result.of_kind("zone") if group.name == "basking")
    assert tuple(outline_of(basking)[0]) == flat.at
