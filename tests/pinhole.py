"""Photographs drawn by a pinhole camera: the page or a cloth, a bait of wood and paint, its shadow, its hooks.

The bait is its own mesh, triangle by triangle: its outline is what a lens would see of a round thing, not a flat
shape laid at a height. Shares nothing with what reads pictures but the page's layout.
"""

from dataclasses import dataclass
from math import cos, radians, sin

import cv2
import numpy as np

from bodygen.scan.photo.outline.lines import profile_of
from bodygen.scan.photo.page import marker_page
from bodygen.scan.photo.page_pdf import marker_cells
from bodygen.tables import load


@dataclass(frozen=True)
class Shot:
    """How a picture is taken: tilt [deg] about a turned axis, distance [mm], focal length as a share of the width.

    ``eye``: x, z and diameter of a painted eye [mm in the body's axes]; ``lip``: x, z of a plate's foot, its angle [deg
    from straight ahead, downwards] and length; ``clear``: the share of light that the plate takes.
    """

    tilt: float = 8.0
    turn: float = 35.0
    away: float = 480.0
    focal: float = 1.1
    size: tuple[int, int] = (1800, 1300)
    noise: float = 2.0
    shadow: float = 0.5
    hooks: bool = True
    bars: bool = True
    cloth: bool = False
    seed: int = 1
    aside: tuple[float, float] = (6.0, -4.0)
    spin: float = 4.0
    eye: tuple[float, float, float] | None = None
    lip: tuple[float, float, float, float] | None = None
    clear: float = 0.12


def page_texture(paper="a4", per_mm=8):
    """The page as printed (h, w, 3) uint8, its upper row first."""
    page = marker_page(paper)
    high, wide = round(page.height * per_mm), round(page.width * per_mm)
    picture = np.full((high, wide, 3), 245, np.uint8)
    x0, y0, x1, y1 = page.middle
    rows = slice(round((page.height - y1) * per_mm), round((page.height - y0) * per_mm))
    picture[rows, round(x0 * per_mm) : round(x1 * per_mm)] = load("limits")["photo"]["middle_srgb"]
    for corners, cells in zip(page.corners, marker_cells(page.numbers), strict=True):
        left, top = corners[0] * per_mm
        size = round(14 * per_mm)
        black = cv2.resize(cells.astype(np.uint8), (size, size), interpolation=cv2.INTER_NEAREST)
        row, column = round(high - top), round(left)
        picture[row : row + size, column : column + size] = np.where(black[..., None] > 0, 15, 245)
    return picture


def cloth_texture(width=560, height=420, per_mm=4, seed=3):
    """A woven cloth of one dull colour (h, w, 3) uint8."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0 : height * per_mm, 0 : width * per_mm] / per_mm
    weave = 0.12 * np.sin(2 * np.pi * x / 1.3) * np.sin(2 * np.pi * y / 1.1)
    blotch = cv2.GaussianBlur(rng.normal(0, 1, y.shape).astype(np.float32), (0, 0), 9 * per_mm)
    light = np.exp(weave + 0.1 * blotch / blotch.std() + rng.normal(0, 0.03, y.shape))
    return np.clip(light[..., None] * (70, 105, 150), 0, 255).astype(np.uint8)


def lens(shot, ground):
    """Matrix, turn and shift of the camera over a ground of this size [mm]: x, y, z of the ground to the camera."""
    wide, high = shot.size
    matrix = np.array([[shot.focal * wide, 0, (wide - 1) / 2], [0, shot.focal * wide, (high - 1) / 2], [0, 0, 1.0]])
    t, a = radians(shot.tilt), radians(shot.turn)
    down = np.diag([1.0, -1.0, -1.0])
    axis = np.array([cos(a), sin(a), 0.0]) * t
    turn = cv2.Rodrigues(axis)[0] @ down
    middle = np.array([ground[0] / 2, ground[1] / 2, 0.0])
    return matrix, turn, np.array([0.0, 0.0, shot.away]) - turn @ middle


def laid(body, where, *, on_belly=False, spin=0.0):
    """Corners of its triangles (n, 3, 3) [mm over the ground]: on its right flank, or standing on its belly."""
    u = np.concatenate([
        np.geomspace(1e-5, 0.02, 14),
        np.linspace(0.02, 0.98, 120)[1:-1],
        1 - np.geomspace(0.02, 1e-5, 14),
    ])
    right = body.points(body.breaks[0] + u * (body.breaks[-1] - body.breaks[0]), 8)
    flank = np.concatenate([right, (right * (1, -1, 1))[:, ::-1]], axis=1)
    if on_belly:
        xyz = np.stack([flank[..., 0], flank[..., 1], flank[..., 2] - flank[..., 2].min()], axis=-1)
    else:
        xyz = np.stack([flank[..., 0], flank[..., 2], flank[..., 1] - flank[..., 1].min()], axis=-1)
    xyz = xyz - (body.length / 2, 0, 0)
    c, s = cos(radians(spin)), sin(radians(spin))
    xyz = xyz @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) + (*where, 0)
    a, b, d, e = xyz[:-1, :-1], xyz[1:, :-1], xyz[:-1, 1:], xyz[1:, 1:]
    return np.concatenate([
        np.stack([a, b, d], axis=2).reshape(-1, 3, 3),
        np.stack([b, e, d], axis=2).reshape(-1, 3, 3),
    ])


def pixel(shot, place, paper="a4"):
    """Where a place (x, y) of the ground [mm], from its middle, is in the picture."""
    page = marker_page(paper)
    ground = (560.0, 420.0) if shot.cloth else (page.width, page.height)
    matrix, turn, shift = lens(shot, ground)
    seen = matrix @ (turn @ np.array([ground[0] / 2 + place[0], ground[1] / 2 + place[1], 0.0]) + shift)
    return float(seen[0] / seen[2]), float(seen[1] / seen[2])


def outline_off(body, profile):
    """How far a body's own side view lies from what was seen (k,) [mm], both from nose to tail."""
    x = np.concatenate([np.geomspace(1e-4, 0.5, 200), np.linspace(0.5, body.length - 0.5, 1400)[1:-1]])
    x = np.concatenate([x, body.length - np.geomspace(0.5, 1e-4, 200)])
    low, high = body.heights_at(x)
    loop = np.concatenate([np.column_stack([x, high]), np.column_stack([x, low])[::-1]])
    way = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(loop, axis=0), axis=1))])
    even = np.linspace(0, way[-1], 2400)
    loop = np.column_stack([np.interp(even, way, loop[:, i]) for i in (0, 1)])
    true = profile_of(loop, np.array([1.0, 0.0]))
    seen = np.concatenate([np.column_stack([profile.x, profile.high]), np.column_stack([profile.x, profile.low])[::-1]])
    first, along = seen[:-1], np.diff(seen, axis=0)
    own = true.points[::8]
    share = ((own[:, None] - first) * along).sum(axis=2) / np.maximum((along**2).sum(axis=1), 1e-12)
    near = first + np.clip(share, 0, 1)[..., None] * along
    return np.linalg.norm(own[:, None] - near, axis=2).min(axis=1), true.length


def photograph(body, shot, paper="a4", *, on_belly=False, printed=None, camera=None):
    """The picture (h, w, 3) uint8; a bait that is None leaves the ground empty.

    ``printed``: the page and its px/mm; ``camera``: matrix, turn and shift in place of the shot's own.
    """
    texture, per_mm = (cloth_texture(), 4) if shot.cloth else (page_texture(paper), 8)
    texture, per_mm = printed or (texture, per_mm)
    ground = texture.shape[1] / per_mm, texture.shape[0] / per_mm
    matrix, turn, shift = camera or lens(shot, ground)

    def project(points):
        seen = (points @ turn.T + shift) @ matrix.T
        return seen[..., :2] / seen[..., 2:]

    fine = 4
    wide, high = shot.size
    corners = np.array([[0, 0, 0], [ground[0], 0, 0], [ground[0], ground[1], 0], [0, ground[1], 0.0]])
    here = np.array([[0, 1], [1, 1], [1, 0], [0, 0.0]]) * texture.shape[1::-1] - 0.5
    flat = cv2.getPerspectiveTransform(here.astype(np.float32), project(corners).astype(np.float32))
    back = (95, 80, 62)
    soft = cv2.GaussianBlur(texture, (0, 0), 1.2)
    picture = cv2.warpPerspective(soft, flat, shot.size, flags=cv2.INTER_LINEAR, borderValue=back)
    light = (picture / 255.0) ** 2.2
    if body is not None:
        own = own_axes(body, shot, ground)
        triangles = laid(body, tuple(own.where), on_belly=on_belly, spin=shot.spin)
        around = project(triangles.reshape(-1, 3))
        low = np.maximum(around.min(axis=0) - 130, 0).astype(int)
        rows, columns = (slice(low[i], int(around[:, i].max()) + 130) for i in (1, 0))
        near = light[rows, columns]
        light[rows, columns] = _lit(near, triangles, lambda p: project(p) - low, shot, fine, own)
    rng = np.random.default_rng(shot.seed)
    y, x = np.mgrid[0:high, 0:wide]
    light = light * (0.8 + 0.25 * x / wide - 0.12 * y / high)[..., None]
    light = cv2.GaussianBlur(np.clip(light, 0, 1), (0, 0), 0.8)  # a lens blurs light, not the file's numbers
    out = 255 * light ** (1 / 2.2) + rng.normal(0, shot.noise, light.shape)
    return np.clip(out, 0, 255).astype(np.uint8)


def _lit(light, triangles, project, shot, fine, own):
    """The picture with the bait's shadow, then its hooks, then the bait itself over it."""
    high, wide = light.shape[:2]
    if shot.shadow:
        fallen = triangles.copy()
        fallen[..., :2] += fallen[..., 2:] * (0.5, -0.7)
        fallen[..., 2] = 0
        shade = np.zeros((high, wide), np.uint8)
        for corner in project(fallen):
            cv2.fillConvexPoly(shade, np.round(corner * 16).astype(np.int32), 255, shift=4)
        light = light * (1 - shot.shadow * cv2.GaussianBlur(shade, (0, 0), 9) / 255)[..., None]
    over = np.zeros((high * fine, wide * fine), np.uint8)
    scale = lambda p: np.round(((p + 0.5) * fine - 0.5) * 16).astype(np.int32)  # noqa: E731
    middle, ends = triangles.reshape(-1, 3).mean(axis=0), triangles.reshape(-1, 3)
    c, s = cos(radians(shot.spin)), sin(radians(shot.spin))
    along, up = np.array([c, s, 0]), np.array([-s, c, 0])
    colour = np.zeros((high, wide, 3))
    if shot.hooks:
        for wire in _wires(ends, middle, along, up):
            cv2.polylines(over, [scale(project(wire))], False, 255, round(2.2 * fine), cv2.LINE_AA, 4)
        share = cv2.resize(over, (wide, high), interpolation=cv2.INTER_AREA)[..., None] / 255
        light = light * (1 - share) + share * 0.25
        over[:] = 0
    if shot.lip:
        light = _plate(light, over, lambda p: scale(project(p)), own, shot)
    for corner in project(triangles):
        cv2.fillConvexPoly(over, scale(corner), 255, shift=4)
    inner = cv2.erode(over, cv2.getStructuringElement(cv2.MORPH_CROSS, (3, 3)))
    over = over // 2 + inner // 2  # what is filled has every pixel that its edge touches, half a pixel too much
    share = cv2.resize(over, (wide, high), interpolation=cv2.INTER_AREA)[..., None] / 254
    rows, columns = np.mgrid[0:high, 0:wide]
    a, b = project(middle), project(middle + 10 * up)
    over_middle = ((rows - a[1]) * (b[1] - a[1]) + (columns - a[0]) * (b[0] - a[0])) / ((b - a) @ (b - a)) * 10
    half = np.ptp(ends @ up) / 2
    blend = np.clip(0.5 + over_middle / (1.2 * half), 0, 1)[..., None]
    colour = blend * (0.10, 0.20, 0.07) + (1 - blend) * (0.72, 0.70, 0.64)
    if shot.bars:
        b = project(middle + 10 * along)
        way = ((rows - a[1]) * (b[1] - a[1]) + (columns - a[0]) * (b[0] - a[0])) / ((b - a) @ (b - a)) * 10
        colour = np.where(((way % 13) < 4)[..., None] & (blend > 0.3), 0.02, colour)
    if shot.eye:
        x, z, across = shot.eye
        turn = np.linspace(0, 2 * np.pi, 60)[:, None] * (1, 1)
        for size, tone in ((1.0, (0.75, 0.5, 0.05)), (0.55, (0.01, 0.01, 0.01))):
            over[:] = 0
            ring = np.array([x, z]) + across / 2 * size * np.stack([np.cos(turn[:, 0]), np.sin(turn[:, 0])], axis=1)
            cv2.fillPoly(over, [scale(project(own.at(ring, own.flank(x, z))))], 255, shift=4)
            mark = cv2.resize(over, (wide, high), interpolation=cv2.INTER_AREA)[..., None] / 255
            colour = colour * (1 - mark) + mark * tone
    return light * (1 - share) + share * colour


def own_axes(body, shot, ground=(297.0, 210.0)):
    """Where a shot lays a bait over a ground of this size [mm]."""
    where = np.array([ground[0] / 2 + shot.aside[0], ground[1] / 2 + 6 + shot.aside[1]])
    return _Own(body, where, shot.spin)


@dataclass(frozen=True)
class _Own:
    """A bait on its right flank: from its own axes to the ground's."""

    body: object
    where: np.ndarray
    spin: float

    def at(self, xz, y):
        """Places (k, 3) [mm over the ground] of x and z (k, 2), so far ``y`` from the mid-plane, up from the page."""
        c, s = cos(radians(self.spin)), sin(radians(self.spin))
        flat = (xz - (self.body.length / 2, 0)) @ np.array([[c, s], [-s, c]]) + self.where
        return np.column_stack([flat, np.broadcast_to(self.body.sizes()[2] / 2 + y, len(flat))])

    def flank(self, x, z):
        """How far the flank is from the mid-plane at x, z [mm]."""
        half = self.body.polygons(np.atleast_1d(self.body.parameter_at(np.array([x]))))[0]
        order = np.argsort(half[:, 2])
        return float(np.interp(z, half[order, 2], half[order, 1]))


def _plate(light, over, drawn, own, shot):
    """The picture with a clear plate 1.6 mm thick and 16 mm wide that stands out of the mid-plane: edges darker."""
    x, z, angle, length = shot.lip
    way = np.array([-cos(radians(angle)), -sin(radians(angle))])
    out = np.array([-way[1], way[0]]) * 0.8
    foot, far = np.array([x, z]) - 3 * way, np.array([x, z]) + length * way
    faces = [own.at(np.array([foot + out, far + out, far - out, foot - out]), y) for y in (-7.9, 0.0, 8.0)]
    corners = np.concatenate([drawn(face) for face in faces])
    high, wide = light.shape[:2]
    for shape, taken in ((cv2.convexHull(corners), shot.clear), (drawn(faces[2]), 1.5 * shot.clear)):
        over[:] = 0
        cv2.fillPoly(over, [shape.reshape(-1, 1, 2)], 255, shift=4)
        light = light * (1 - taken * cv2.resize(over, (wide, high), interpolation=cv2.INTER_AREA)[..., None] / 255)
    over[:] = 0
    return light


def _wires(corners, middle, along, up):
    """Two hooks below the belly and a line tie ahead of the nose: lines (k, 3) [mm over the ground]."""
    x, y = (corners - middle) @ along, (corners - middle) @ up
    t = np.linspace(0, 3.6, 40)[:, None]
    hooks = [
        middle + (share * np.ptp(x) + 5 * np.sin(t)) * along - (0.3 * np.ptp(y) + 3.2 * t) * up
        for share in (-0.15, 0.3)
    ]
    tie = middle + np.array([[x.min() - 5], [-0.3 * np.ptp(x)]]) * along
    return [line * (1, 1, 0) + (0, 0, height) for line, height in zip([*hooks, tie], (4, 4, 6), strict=True)]
