"""How far points are from a surface, against closed forms and against the mesh library's own search."""

import numpy as np
import pytest
import traced

from bodygen.form.fairing.offsets import Offsets, skin_through, surface_through
from bodygen.scan.cloud.feet import feet_of
from bodygen.scan.cloud.sizes import Sizes
from bodygen.scan.nearest import signed_distances


@pytest.mark.parametrize("radius", [24.0, 40.0, 70.0])
def test_beside_a_straight_run_of_almost_no_length_a_place_is_found_too(radius):
    """Flat flanks with large edges leave 4 to 0.1 mm of back and belly straight: steps once went to and fro there."""
    one = np.ones(5)
    sizes = np.stack([30 * one, -30 * one, 25 * one, 0.5 * one, 0.65 * one, 0.65 * one])
    body = surface_through(
        Sizes(np.linspace(0, 1, 5), sizes, 0, 200, (False,) * 2, (False,) * 2, (0.58, radius)).offsets()
    )
    assert body.segments == 5
    x, y = np.full(400, 90.0), np.linspace(0.0, 6.0, 400)
    high = np.full(400, 30.5)
    high[1::2] *= -1
    points = np.stack([x, y, high], axis=1)
    assert feet_of(body, points).off == pytest.approx(signed_distances(body, points), abs=1e-4)


def bar(radius: float, length: float):
    """A round bar with flat ends."""
    one = np.ones(4)
    return skin_through(
        Offsets(length / 3 * np.arange(4), radius * one, -radius * one, radius * one, 0 * one, 2 * one, 2 * one)
    )


def test_round_a_round_bar_a_point_is_as_far_as_its_radius_says():
    """The cubic that stands for a quarter circle leaves it by 0.027 % of the radius, elementary."""
    rng = np.random.default_rng(5)
    x, radius, turn = rng.uniform(20, 40, 200), rng.uniform(6, 14, 200), rng.uniform(0, 2 * np.pi, 200)
    points = np.stack([x, radius * np.cos(turn), radius * np.sin(turn)], axis=1)
    assert signed_distances(bar(10.0, 60.0), points) == pytest.approx(radius - 10, abs=0.0028)


def test_before_a_flat_end_a_point_is_as_far_as_from_the_plane_or_its_edge():
    points = np.array([[-2.0, 3, 4], [62.5, 0, -9], [-3, 0, 14], [1.0, 2, 0]])
    assert signed_distances(bar(10.0, 60.0), points) == pytest.approx([2.0, 2.5, 5.0, -1.0], abs=0.003)


@pytest.mark.parametrize("name", ["tarn-perch-70", "beck-dace-80"])
def test_a_place_moved_along_the_normal_is_that_far_away(name):
    """Moves smaller than any hollow's radius there: outwards, the nearest place is the one that it came from."""
    body = traced.demo(name)
    u = np.linspace(0.05, 0.95, 60)
    at = body.points(u, 6)
    along, around = np.gradient(at, axis=0), np.gradient(at, axis=1)
    normal = np.cross(around, along)
    normal /= np.maximum(np.linalg.norm(normal, axis=2), 1e-12)[:, :, None]
    inner = np.s_[1:-1, 1:-1]
    for way in (0.6, -0.2):
        points = (at + way * normal)[inner].reshape(-1, 3)
        # the normals above are from differences between neighbours, up to some degrees off: cosine of 3 degrees
        assert signed_distances(body, points) == pytest.approx(way, rel=0.02)
