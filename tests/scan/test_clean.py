"""What of a scan is body: a thin tail goes on from it, hooks and a lip do not."""

import numpy as np
import scans
import traced

from bodygen.scan.cloud.clean import core_of, thin_points, with_thin_ends
from bodygen.scan.cloud.points import cloud_of, merged
from bodygen.scan.nearest import signed_distances


def cores(mesh):
    """A mesh as points, those of its thick part, and those with the thin ends."""
    cloud = cloud_of(*merged(mesh.vertices, mesh.faces))
    core = core_of(cloud, thin_points(cloud))
    return cloud, core, with_thin_ends(cloud, core)


def test_a_tail_thinner_than_wire_goes_on_from_the_body():
    """Of 102 mm the last seven are thinner than 3.4 mm; without them the fit ended in a plane 5 mm short."""
    body = scans.random_body(34)
    cloud, core, whole = cores(scans.fine(body))
    assert np.ptp(cloud.points[core, 0]) < 0.96 * body.length
    assert np.ptp(cloud.points[whole, 0]) > 0.97 * body.length  # the tip closes fast; it comes back as the fit grows


def test_hooks_and_a_lip_do_not():
    body = traced.demo("tarn-perch-70")
    cloud, core, whole = cores(scans.with_hardware(scans.fine(body), *body.sizes()[:2]))
    more = cloud.points[whole & ~core]
    assert (np.abs(signed_distances(body, more)) < 0.02).all()  # a mesh of 0.004 mm, its points put together by cells
