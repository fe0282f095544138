"""How far inside a drawn body points lie, by sections drawn with chords: another way than the ray caster's."""

import numpy as np

from bodygen.form.body import bezier_points


def depth_inside(body, points):
    """How far inside points lie, measured sideways.

    Parameters
    ----------
    points : (k, 3) array
        [mm]

    Returns
    -------
    (k,) array
        The half width at each point's x and z, less |y| [mm], of sections drawn with chords: up to about 0.002 mm too
        little. Negative outside: by how much too high or too low where the section does not reach that z.
    """
    inside = depth_in_sections(half_sections(body, points[:, 0]), points)
    beside = (points[:, 0] < 0) | (points[:, 0] > body.length)
    return np.asarray(np.where(beside, -np.maximum(-inside, 1e-9), inside))


def half_sections(body, x):
    return np.asarray(bezier_points(body.polygons(body.parameter_at(x)), 48)[..., 1:])


def depth_in_sections(half, points):
    y, z = half[..., 0], half[..., 1]
    height = points[:, 2]
    # z never falls from belly to back: find the interval that holds the height
    index = np.clip(np.sum(z <= height[:, None], axis=1) - 1, 0, z.shape[1] - 2)
    row = np.arange(len(points)) if len(half) > 1 else 0
    z0, z1, y0, y1 = z[row, index], z[row, index + 1], y[row, index], y[row, index + 1]
    share = np.clip((height - z0) / np.where(z1 > z0, z1 - z0, 1.0), 0.0, 1.0)
    inside = y0 + (y1 - y0) * share - np.abs(points[:, 1])
    beyond = np.maximum(z[row, 0] - height, height - z[row, -1])
    return np.asarray(np.where(beyond > 0, -np.maximum(beyond, 1e-12), inside))
